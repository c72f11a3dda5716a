import { describe, expect, it } from 'vitest';
import { PHYSICS } from '../../src/emulator/physics.js';
import { createBench, type Medium } from '../../src/emulator/probeBench.js';
import { inventedRom } from '../../src/emulator/scenarios/carriers.js';
import { parseCupLabel } from '../../src/units/ids.js';
import { later, minutes, seconds, utcMs } from '../../src/units/time.js';

const START = utcMs(Date.UTC(2026, 4, 11, 23));
const roms = [1, 2, 3].map((serial) => inventedRom([serial, 0, 0, 1]));
const [one, two] = roms as [(typeof roms)[0], (typeof roms)[0]];
const since = (second: number) => later(START, seconds(second));
const AIR: Medium = { celsius: 20, seconds: 240 };

const bench = (into: Medium, which = roms) =>
  createBench({
    start: START,
    end: later(START, minutes(20)),
    moves: [
      { at: START, roms, into: AIR },
      { at: since(60), roms: which, into },
    ],
    seed: 4,
  });
/** Noise and a fixed error are on every reading; the mean of many, less the fixed error, shows the course. */
const mean = (run: ReturnType<typeof bench>, rom: typeof one, from: number, to: number) => {
  const values = Array.from({ length: to - from }, (_, index) => run.probe(rom, since(from + index)));
  return values.reduce((sum, each) => sum + each, 0) / values.length;
};

describe('createBench()', () => {
  it('begins at rest and follows a step exponentially', () => {
    const run = bench({ celsius: 0, seconds: 100 });
    const error = mean(run, one, 0, 60) - 20;
    expect(Math.abs(error)).toBeLessThan(PHYSICS.probeOffsetCelsiusMax + 0.01);
    // By hand: one time constant after the step 1/e of it is left, 20/e = 7.36; noise is at most 0.03.
    expect(Math.abs(run.probe(one, since(160)) - error - 20 / Math.E)).toBeLessThan(0.05);
    expect(Math.abs(mean(run, one, 900, 1100) - error)).toBeLessThan(0.02);
  });

  it('moves only the probes it is told to', () => {
    const run = bench({ celsius: 0, seconds: 20 }, [one]);
    expect(run.probe(one, since(600))).toBeLessThan(1);
    expect(run.probe(two, since(600))).toBeGreaterThan(19);
  });

  it('drifts, waves and differs from place to place as its medium says', () => {
    const still = bench({ celsius: 18, seconds: 10 });
    const change = (run: typeof still, rom: typeof one, second: number) =>
      run.probe(rom, since(second)) - still.probe(rom, since(second));
    // By hand: 0.6 degC a minute for 10 min, less the lag of 10 s (0.1 degC).
    expect(change(bench({ celsius: 18, seconds: 10, perMinute: 0.6 }), one, 660)).toBeCloseTo(5.9, 1);
    const waving = bench({ celsius: 18, seconds: 10, waves: 0.5 });
    const waves = Array.from({ length: 140 }, (_, second) => change(waving, one, 300 + second));
    expect(Math.max(...waves) - Math.min(...waves)).toBeGreaterThan(0.6);
    const places = bench({ celsius: 18, seconds: 10, places: 0.2 });
    const [first, second] = [one, two].map((rom) => change(places, rom, 600)) as [number, number];
    expect(Math.abs(first - second)).toBeGreaterThan(0.01);
    expect(Math.max(Math.abs(first), Math.abs(second))).toBeLessThanOrEqual(0.2 + 1e-9);
  });

  it('is equal in every instance, and holds its ends', () => {
    const [a, b] = [bench({ celsius: 0, seconds: 20 }), bench({ celsius: 0, seconds: 20 })];
    expect(a.probe(one, since(333))).toBe(b.probe(one, since(333)));
    expect(a.probe(one, since(-100))).toBeCloseTo(a.probe(one, since(0)), 0);
    expect(a.probe(one, since(5000))).toBeCloseTo(a.probe(one, since(1200)), 0);
  });

  it('knows no other probe and no cup', () => {
    const run = bench(AIR);
    expect(() => run.probe(inventedRom([9, 9, 9, 9]), START)).toThrow('no probe');
    expect(() => run.cup(parseCupLabel('c-1')!, START)).toThrow('no cup c-1 on this bench');
  });
});
