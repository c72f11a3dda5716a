import { describe, expect, test } from 'vitest';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { seededChance } from '../../../src/units/clock.js';
import { Bench, manyRoms } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { WHY_NO_BUILD } from './build.js';
import { isEarlier, keyOf, type LoggedScan, live, readBack, writtenRing } from './logged.js';

/** 200 cuts in all, over five rings; `STILLWARM_POWER_CUTS` takes more of each. */
const CUTS_PER_RING = Number(process.env['STILLWARM_POWER_CUTS'] ?? 200) / 5;

/** Up and down by 10 degrees in forty minutes: what is invented shows. */
const temperatureAt = (index: number, ms: number) => {
  const phase = (ms / 1_200_000) % 2;
  return 12 + index + 10 * (phase < 1 ? phase : 2 - phase);
};
const STEP_PER_SCAN_SIXTEENTHS = 3;

/**
 * Cuts a board's supply again and again: in turn while it writes its memory, soon after the boot while it reads the
 * memory and repairs it, while it writes what it repaired or its first pages, and at any moment.
 */
function cutAgainAndAgain(newest: number, probes: number, cuts: number, seed: number, hex?: string) {
  const chance = seededChance(seed);
  const memory = new SerialMemory({ seed, bytes: writtenRing(newest) });
  const roms = manyRoms(probes);
  const bench = new Bench({
    probes: roms.map((rom, index) => ({ rom, celsius: (ms: number) => temperatureAt(index, ms) })),
    memory,
    hostListens: false,
    ...(hex && { hex }),
  });
  const wait = (ms: number) => bench.run(bench.board.ms + ms);
  const waitForAWrite = () => {
    const { writes } = memory;
    while (memory.writes === writes) wait(1);
    wait(chance.uniform() * 4);
  };
  const bootAtMs: number[] = [0];
  for (let cut = 0; cut < cuts; cut += 1) {
    const kind = cut % 4;
    if (kind === 0 || kind === 2) wait(22_000 + chance.uniform() * 80_000);
    if (kind === 1) wait(chance.uniform() * 1600);
    if (kind === 0 || kind === 3) waitForAWrite();
    bench.board.reset('power-on');
    bootAtMs.push(bench.board.ms);
  }
  wait(65_000);
  const told = live(bench);
  const kept = readBack(bench, Math.max(1, newest - 20));
  return { bench, memory, told, kept, all: live(bench), bootAtMs, roms };
}

type Outcome = ReturnType<typeof cutAgainAndAgain>;

/** Scans that were said and are not kept, although a later one of the same boot was said. */
function lost({ told, kept }: Outcome): LoggedScan[] {
  const keys = new Set(kept.map(keyOf));
  const last = new Map<number, number>();
  for (const { boot, scan } of told) last.set(boot, Math.max(scan, last.get(boot) ?? 0));
  return told.filter((scan) => !keys.has(keyOf(scan)) && scan.scan !== last.get(scan.boot));
}

/** Scans that are kept and were not said; they must be true all the same. */
const unsaid = ({ kept, all }: Outcome): LoggedScan[] => {
  const said = new Set(all.map(keyOf));
  return kept.filter((scan) => !isEarlier(scan) && !said.has(keyOf(scan)));
};

/** Values that no probe had at the time of their scan. */
function invented({ kept, bootAtMs, bench, roms }: Outcome): LoggedScan[] {
  const order = bench.tables().at(-1)?.roms;
  const firstBoot = bench.of('B')[0]?.boot ?? 0;
  return kept.filter((scan) => {
    if (isEarlier(scan)) return scan.values.some((value) => value !== (scan.scan & 0x3ff));
    const ms = (bootAtMs[scan.boot - firstBoot] ?? Number.NaN) + scan.ms;
    return scan.values.some((value, at) => {
      const expected = 16 * temperatureAt(roms.indexOf(order?.get(at) ?? ''), ms);
      return !(Math.abs(value - expected) <= STEP_PER_SCAN_SIXTEENTHS);
    });
  });
}

describe('a power cut', () => {
  // A ring that is empty, one that is about to come round, two that have, and one whose numbers need three bytes.
  const RINGS = [
    [0, 3],
    [509, 12],
    [1022, 16],
    [2047, 1],
    [65_534, 4],
  ] as const;
  const cutWrites: number[] = [];

  test.each(RINGS)(
    `costs at most the scan being written and invents nothing: ring at %d, %d probes`,
    (newest, probes) => {
      const outcome = cutAgainAndAgain(newest, probes, CUTS_PER_RING, 7 + newest);
      const { bench, memory, told, kept } = outcome;
      const boots = bench.of('B').filter(({ sequence }) => sequence === 0);
      expect(boots.every(({ fields }) => fields[3] === 'P')).toBe(true);
      // The log mounts in the memory after each cut, and knows where it was.
      const mounted = bench.of('J').filter(({ fields }) => fields[0] === 'M');
      expect(bench.of('J').filter(({ fields }) => fields[0] !== 'M')).toEqual([]);
      expect(bench.of('W')).toEqual([]);
      const opens = mounted.map(({ fields }) => Number.parseInt(fields[2] ?? '', 16));
      expect(opens[0]).toBe(newest);
      expect(opens).toEqual([...opens].sort((a, b) => a - b));
      const keys = kept.map(keyOf);
      expect(new Set(keys).size).toBe(keys.length);
      expect(lost(outcome)).toEqual([]);
      expect(invented(outcome)).toEqual([]);
      // A scan is logged as its line is queued: the cut may come before the line is out, once a cut.
      expect(unsaid(outcome).length).toBeLessThanOrEqual(CUTS_PER_RING);
      expect(told.length).toBeGreaterThan(CUTS_PER_RING);
      expect(kept.filter((scan) => !isEarlier(scan)).length).toBeGreaterThan(told.length - CUTS_PER_RING);
      cutWrites.push(memory.cutWrites);
    },
  );

  test('was made in the middle of a write often enough for that to mean something', () => {
    expect(cutWrites).toHaveLength(RINGS.length);
    expect(cutWrites.reduce((sum, count) => sum + count, 0)).toBeGreaterThanOrEqual(
      RINGS.length * CUTS_PER_RING * 0.5,
    );
  });

  test('loses scans when the log is mounted from pages whose CRC is wrong (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const outcome = cutAgainAndAgain(1022, 16, 12, 7, broken('a page is believed with its CRC only').hex);
    expect(lost(outcome).length).toBeGreaterThan(0);
  });
});
