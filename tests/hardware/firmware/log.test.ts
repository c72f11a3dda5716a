import { describe, expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, manyRoms } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { WHY_NO_BUILD } from './build.js';
import { keyOf, live, PAGE_BYTES, readBack } from './logged.js';

const probesOf = (count: number) =>
  manyRoms(count).map((rom, index) => ({ rom, celsius: (ms: number) => 15 + index + ms / 3_600_000 }));

describe('a day alone', () => {
  test('is read back: every scan of 12 h with three reboots is there once, within half a second', () => {
    const memory = new SerialMemory();
    const clock = new ClockChip({ utcSeconds: 1_790_000_000 });
    const bench = new Bench({ probes: probesOf(12), memory, clock, hostListens: false });
    for (const [hours, cause] of [
      [2.5, 'power-on'],
      [5, 'external'],
      [9.1, 'brown-out'],
    ] as const) {
      bench.run(hours * 3_600_000);
      bench.board.reset(cause);
    }
    bench.run(12 * 3_600_000);
    const told = live(bench);
    const kept = readBack(bench);
    const extra = live(bench).slice(told.length);
    expect(told.length).toBeGreaterThan(2150);
    const keys = kept.map(keyOf);
    expect(new Set(keys).size).toBe(keys.length);
    for (const scan of told) expect(keys).toContain(keyOf(scan));
    expect(keys.length).toBeLessThanOrEqual(told.length + extra.length);
    const times = new Map(told.map((scan) => [`${scan.boot} ${scan.scan}`, scan.ms]));
    for (const { boot, scan, ms } of kept)
      expect(Math.abs(ms - (times.get(`${boot} ${scan}`) ?? ms))).toBeLessThanOrEqual(500);
    expect(bench.i2c.violations).toBe(0);
    expect([...bench.bus.violations]).toEqual([]);
  });
});

describe('a damaged page', () => {
  test('is not sent, but by an image that believes pages without their CRC (negative control)', ({
    skip,
  }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const sends = (hex?: string) => {
      const memory = new SerialMemory();
      const bench = new Bench({ probes: probesOf(3), memory, hostListens: false, ...(hex && { hex }) });
      bench.run(600_000);
      const place = (bytes: Uint8Array) =>
        bytes.findIndex((_, at) => at % PAGE_BYTES === 0 && bytes[at + 2] === 2);
      const at = place(memory.bytes);
      memory.bytes[at + 30] = (memory.bytes[at + 30] ?? 0) ^ 1;
      bench.ask('R', '000001', '0001');
      bench.run(bench.board.ms + 300);
      const good = bench.of('L').length;
      bench.ask('R', '000002', '0001');
      bench.run(bench.board.ms + 300);
      return [good, bench.of('L').length - good];
    };
    expect(sends()).toEqual([4, 0]);
    expect(sends(broken('a page is believed with its CRC only').hex)).toEqual([4, 4]);
  });
});
