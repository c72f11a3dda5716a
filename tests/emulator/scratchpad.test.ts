import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { atPowerUp, convert, DELIVERED, DS18S20, scratchpadBytes } from '../../src/emulator/scratchpad.js';

const DS18B20 = 0x28;
const hex = (bytes: Uint8Array) =>
  [...bytes].map((byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join(' ');

describe('`scratchpadBytes()` gives the scratchpads of real parts, CRC included', () => {
  // Published samples of genuine parts (DS18B20 counterfeit collections); CRCs recomputed with crc8OfBits() of bench.ts.
  test('at power-up', () => {
    expect(hex(scratchpadBytes(DS18B20, atPowerUp(DS18B20), DELIVERED))).toBe('50 05 4B 46 7F FF 0C 10 1C');
  });

  test.each([
    [15.25, 'F4 00 4B 46 7F FF 0C 10 FA'],
    [15.1875, 'F3 00 4B 46 7F FF 0D 10 EE'],
    [15.375, 'F6 00 4B 46 7F FF 0A 10 D6'],
  ])('at %d degrees', (celsius, bytes) => {
    const conversion = convert(celsius, DS18B20, DELIVERED.configuration);
    expect(hex(scratchpadBytes(DS18B20, conversion, DELIVERED))).toBe(bytes);
  });

  test('of family 10h at power-up', () => {
    const user = { th: 0xb4, tl: 0xb9, configuration: 0x7f };
    expect(hex(scratchpadBytes(DS18S20, atPowerUp(DS18S20), user))).toBe('AA 00 B4 B9 FF FF 0C 10 18');
  });
});

describe('`convert()`', () => {
  test('rounds to a sixteenth and stays within the part', () => {
    expect(convert(20.03, DS18B20, 0x7f).slice(0, 2)).toEqual([0x40, 0x01]);
    expect(convert(20.04, DS18B20, 0x7f).slice(0, 2)).toEqual([0x41, 0x01]);
    expect(convert(200, DS18B20, 0x7f).slice(0, 2)).toEqual([0xd0, 0x07]);
    expect(convert(-200, DS18B20, 0x7f).slice(0, 2)).toEqual([0x90, 0xfc]);
  });

  // Steps of 0.5, 0.25, 0.125 degrees: DS18B20 datasheet 19-7487 Rev 4, table 2.
  test.each([
    [0x1f, 8],
    [0x3f, 4],
    [0x5f, 2],
    [0x7f, 1],
  ])('with configuration %i reports multiples of %i sixteenths', (configuration, step) => {
    const [lsb] = convert(23.9375, DS18B20, configuration); // 17Fh
    expect(lsb).toBe(0x7f - (0x7f % step));
  });

  // DS18S20 datasheet, temperature/data relationship.
  test.each([
    [25, 0x32],
    [0.5, 0x01],
    [0, 0x00],
    [-0.5, 0xff],
    [-25, 0xce],
    [-55, 0x92],
  ])('gives %d degrees of family 10h the low byte %i', (celsius, lsb) => {
    expect(convert(celsius, DS18S20, 0xff)[0]).toBe(lsb);
  });

  test('of family 10h gives back every sixteenth by its count registers', () => {
    fc.assert(
      fc.property(fc.integer({ min: -880, max: 2000 }), (sixteenths) => {
        const [lsb, msb, remain, perC] = convert(sixteenths / 16, DS18S20, 0xff);
        const halves = (((msb << 8) | lsb) << 16) >> 16;
        const degrees = Math.floor(halves / 2) - 0.25 + (perC - remain) / perC; // DS18S20 datasheet, extended resolution
        return degrees * 16 === sixteenths && remain >= 1 && remain <= 16;
      }),
    );
  });
});
