import { describe, expect, test } from 'vitest';
import type { Fault } from '../../src/emulator/faults.js';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import { QUICKEST, SLOWEST, TYPICAL } from '../../src/emulator/oneWireTiming.js';
import { Thermometer } from '../../src/emulator/thermometer.js';
import { ROMS } from './bench.js';
import { CONVERT_T, GOOD, Master, READ_SCRATCHPAD, SKIP_ROM } from './master.js';

const [ROM, OTHER] = ROMS;
const thermometer = (rom: string, times = TYPICAL) =>
  new Thermometer({ rom, times, temperatureAt: () => 20 });

/** Reset, a conversion, and reading it. */
function transaction(m: Master): number[] {
  m.reset();
  m.write(SKIP_ROM, CONVERT_T).wait(800);
  m.reset();
  return m.write(SKIP_ROM, READ_SCRATCHPAD).read(9);
}

describe('a master that keeps to the datasheet', () => {
  test.each([
    ['typical', TYPICAL],
    ['quickest', QUICKEST],
    ['slowest', SLOWEST],
  ] as const)('makes no violation with a %s thermometer', (_name, times) => {
    const bus = new OneWireBus({ thermometers: [thermometer(ROM, times)] });
    const bytes = transaction(new Master(bus));
    expect([...bus.violations]).toEqual([]);
    expect(bytes.slice(0, 2)).toEqual([0x40, 0x01]);
  });
});

describe('a violation is counted by its kind (negative controls)', () => {
  test.each([
    ['reset too long', { resetLow: 961 }],
    ['too soon after reset', { resetHigh: 479 }],
    ['presence sampled outside its window', { presenceSample: 59 }],
    ['presence sampled outside its window', { presenceSample: 76 }],
    ['slot too short', { slot: 59, write0Low: 58 }],
    ['no recovery', { slot: 63.5 }],
    ['low too short', { write1Low: 0.9 }],
    ['low neither 1 nor 0', { write1Low: 16 }],
    ['low neither 1 nor 0', { write0Low: 59 }],
    ['low too long for a slot', { write0Low: 121, slot: 130 }],
    ['read released late', { readLow: 16, readSample: 17 }],
    ['read sampled late', { readSample: 16 }],
  ] as const)('%s: %o', (violation, spoilt) => {
    const bus = new OneWireBus({ thermometers: [thermometer(ROM)] });
    transaction(new Master(bus, spoilt));
    expect(bus.violations.get(violation) ?? 0).toBeGreaterThan(0);
    expect(bus.violationCount).toBeGreaterThan(0);
  });

  test.each([
    { resetLow: 480 },
    { resetLow: 960 },
    { resetHigh: 480 },
    { presenceSample: 60 },
    { presenceSample: 75 },
    { slot: 64 },
    { write1Low: 1 },
    { write1Low: 15 },
    { write0Low: 60 },
    { write0Low: 120, slot: 121 },
    { readSample: 15 },
  ])('and what is just within is none: %o', (limit) => {
    const bus = new OneWireBus({ thermometers: [thermometer(ROM)] });
    transaction(new Master(bus, limit));
    expect([...bus.violations]).toEqual([]);
  });

  test('a low of less than 480 us resets nobody', () => {
    const bus = new OneWireBus({ thermometers: [thermometer(ROM)] });
    expect(new Master(bus, { resetLow: 470 }).reset()).toBe(false);
  });
});

describe('a fault on the line', () => {
  const busUnder = (...faults: Fault[]) =>
    new OneWireBus({ thermometers: [thermometer(ROM), thermometer(OTHER)], faults });
  const presenceAt = (bus: OneWireBus, ms: number) => new Master(bus, GOOD, ms * 1000).reset();

  test('`short` holds it low, so that only the level before a reset tells it from a presence', () => {
    const bus = busUnder({ kind: 'short', fromMs: 10, toMs: 20 });
    expect(bus.isHigh(5000)).toBe(true);
    expect(bus.isHigh(15_000)).toBe(false);
    expect(bus.isHigh(25_000)).toBe(true);
    expect(presenceAt(bus, 30)).toBe(true);
  });

  test('`loose-lead` takes one thermometer off and leaves the other', () => {
    const bus = busUnder({ kind: 'loose-lead', rom: ROM, fromMs: 10, toMs: 20 });
    const readRomAt = (ms: number) => {
      const m = new Master(bus, GOOD, ms * 1000);
      m.reset();
      return m.write(0x33).read(8);
    };
    const bytes = OTHER.split('-').map((pair) => Number.parseInt(pair, 16));
    expect(readRomAt(10)).toEqual(bytes);
    expect(readRomAt(30)).not.toEqual(bytes); // both talk at once again
  });

  test('`loose-lead` of all leaves no presence', () => {
    const bus = busUnder(
      { kind: 'loose-lead', rom: ROM, fromMs: 10, toMs: 20 },
      { kind: 'loose-lead', rom: OTHER, fromMs: 0, toMs: 20 },
    );
    expect(presenceAt(bus, 5)).toBe(true);
    expect(presenceAt(bus, 12)).toBe(false);
    expect(presenceAt(bus, 25)).toBe(true);
  });

  test('`bit-flips` spoils some reads, the same ones each run', () => {
    const reads = () => {
      const bus = new OneWireBus({
        thermometers: [thermometer(ROM)],
        faults: [{ kind: 'bit-flips', fromMs: 0, toMs: 1e9 }],
      });
      const m = new Master(bus);
      return Array.from({ length: 20 }, () => transaction(m).join());
    };
    const first = reads();
    expect(new Set(first).size).toBeGreaterThan(1);
    expect(reads()).toEqual(first);
  });

  test('that begins and ends between two looks still restarts its thermometer', () => {
    const bus = new OneWireBus({
      thermometers: [thermometer(ROM)],
      faults: [{ kind: 'loose-lead', rom: ROM, fromMs: 2000, toMs: 2001 }],
    });
    transaction(new Master(bus));
    const m = new Master(bus, GOOD, 3_000_000);
    m.reset();
    expect(m.write(SKIP_ROM, READ_SCRATCHPAD).read(2)).toEqual([0x50, 0x05]);
  });
});
