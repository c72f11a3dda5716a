import { describe, expect, test } from 'vitest';
import { carrierOf, inventedRom, probeIn, SLOTS } from '../../../src/emulator/scenarios/carriers.js';
import { crc8, parseRomId } from '../../../src/units/ids.js';

const bytesOf = (rom: string): number[] => rom.split('-').map((pair) => Number.parseInt(pair, 16));

describe('inventedRom()', () => {
  test('ends in the CRC that a real part of that serial has', () => {
    // Two ROM codes of genuine parts, printed in "Your DS18B20 temperature sensor is likely a fake, counterfeit,
    // clone...", public report, CC BY, 2024
    expect(inventedRom([0x13, 0x9b, 0xbb, 0x0b])).toBe('28-13-9B-BB-0B-00-00-1F');
    expect(inventedRom([0xca, 0xd6, 0x10, 0x10])).toBe('28-CA-D6-10-10-00-00-FE');
  });

  test('refuses what is not a byte', () => {
    expect(() => inventedRom([256, 0, 0, 0])).toThrow('not four bytes');
  });
});

describe('probeIn()', () => {
  const roms = (['A', 'B'] as const).flatMap((name) =>
    Array.from({ length: SLOTS }, (_, i) => probeIn(name, i + 1)),
  );

  test('gives every slot a probe of its own with family, genuine pattern and CRC', () => {
    expect(new Set(roms).size).toBe(2 * SLOTS);
    for (const rom of roms) {
      expect(rom).toMatch(/^28(-[0-9A-F]{2}){4}-00-00-[0-9A-F]{2}$/);
      expect(crc8(bytesOf(rom))).toBe(0);
    }
  });

  test('gives ids that no longer parse when a digit is wrong', () => {
    for (const rom of roms) {
      const wrong = rom.replace(/-([0-9A-F])/, (_, digit: string) => `-${digit === '0' ? '1' : '0'}`);
      expect(parseRomId(wrong)).toBeNull();
    }
  });
});

describe('carrierOf()', () => {
  test('numbers its slots from 1', () => {
    expect(carrierOf('A', []).slots.map(({ slot }) => slot)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
  });
});
