import { expect, test } from 'vitest';
import { decode, FIRST_REACH, kindOf, RETI, SEI, SLEEP } from '../../src/emulator/decode.js';

test('`decode()` tells what the run loop has to know of, up to the end of the flash', () => {
  // sei, reti, sleep, cbi 0x0b,2, sbi 0x0b,2, cli: AVR instruction set manual
  const words = [0x9478, 0x9518, 0x9588, 0x985a, 0x9a5a, 0x94f8];
  const kinds = decode(Uint16Array.from(words)).map(kindOf);
  expect([...kinds.slice(0, 3)]).toEqual([SEI, RETI, SLEEP]);
  expect(kinds[3]).toBeGreaterThanOrEqual(FIRST_REACH);
  expect(kinds[4]).toBeGreaterThanOrEqual(FIRST_REACH);
  // Behind the last words it begins again: what runs on is left to avr8js there.
  expect(kinds[5]).toBe(0);
  const [cli] = decode(Uint16Array.of(0x94f8, 0, 0, 0)).map(kindOf);
  expect(cli).toBeGreaterThan(0);
  expect(cli).toBeLessThan(FIRST_REACH);
});

test('`decode()` leaves alone what is not wanted', () => {
  expect([...decode(Uint16Array.of(0x94f8, 0, 0, 0, 0), (opcode) => opcode !== 0x94f8).map(kindOf)]).toEqual([
    0, 46, 0, 0, 0,
  ]);
});
