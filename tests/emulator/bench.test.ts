import { expect, test } from 'vitest';
import { Bench, crc8OfBits, crc16, ROMS } from './bench.js';

test('`crc16()` gives the standard check value', () => {
  expect(crc16('123456789')).toBe(0x29b1); // catalogue of parametrised CRC algorithms, CRC-16/CCITT-FALSE (IBM-3740)
});

test('`crc8OfBits()` gives the standard check value and that of the application note', () => {
  expect(crc8OfBits([...'123456789'].map((char) => char.charCodeAt(0)))).toBe(0xa1); // CRC-8/MAXIM-DOW check value
  expect(crc8OfBits([0x02, 0x1c, 0xb8, 0x01, 0x00, 0x00, 0x00])).toBe(0xa2); // application note 27, worked example
});

test('`Bench` sees a line that memory damage spoilt (negative control)', () => {
  const spoilt = new Bench({ probes: [{ rom: ROMS[0] }] }).run(700);
  const { data } = spoilt.board.cpu;
  // The version text, which the next boot line copies out of memory, gets a character that must not pass.
  const told = spoilt.of('B')[0]!.fields[1]!;
  const version = Buffer.from(data).indexOf(told);
  expect(version).toBeGreaterThan(0);
  data[version] = '*'.charCodeAt(0);
  spoilt.run(61_500);
  expect(spoilt.of('B')).toHaveLength(1);
  expect(spoilt.scraps.some((text) => text.startsWith('$B,'))).toBe(true);
});
