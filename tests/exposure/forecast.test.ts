import { describe, expect, it } from 'vitest';
import { coldInMinutes, FORECAST_AHEAD_MAX } from '../../src/exposure/forecast.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { Observation } from '../../src/exposure/types.js';
import { type Celsius, celsius, fromSixteenths } from '../../src/units/temperature.js';
import { inMinutes, later, minutes, seconds } from '../../src/units/time.js';
import { oneRide } from './oneRide.js';
import { at, LOAD, trace } from './traces.js';

const THRESHOLD = DEFAULT_RULES.thresholdCelsius;

/** What a probe reports every 10 s, in sixteenths, in a cup of 300 bees that is seated two minutes after its load. */
function ride(change: {
  readonly outside: number;
  readonly heaterUntil: number;
  readonly draught: number;
  readonly seed: number;
  readonly hours?: number;
  readonly heaterCelsius?: number;
}): { read(minute: number): Celsius; upTo(minute: number): Observation[]; end: number } {
  const end = (change.hours ?? 4) * 60;
  const { read, readings } = oneRide(2, change.draught, {
    end: at(end),
    outside: [{ at: LOAD, celsius: celsius(change.outside) }],
    heater: [{ from: LOAD, to: at(change.heaterUntil), celsius: celsius(change.heaterCelsius ?? 24) }],
    startCelsius: celsius(25),
    seed: change.seed,
  });
  return { end, read, upTo: (minute) => readings(Math.max(2, minute - 30), minute) };
}

/** The first minute from which on a cup stays below the threshold for a minute; null when it never does. */
function coldFrom({ read, end }: ReturnType<typeof ride>): number | null {
  let below = 0;
  for (let minute = 3; minute <= end; minute += 1 / 6) {
    below = read(minute) < THRESHOLD ? below + 1 : 0;
    if (below === 6) return minute - 5 / 6;
  }
  return null;
}

const median = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[values.length >> 1]!;

const COOLINGS = [-2, 2, 6, 9].flatMap((outside) =>
  [0, 0.05, 0.15, 0.3].flatMap((draught) =>
    [20, 60].map((heaterUntil, index) => ride({ outside, draught, heaterUntil, seed: 1 + index })),
  ),
);

describe('coldInMinutes()', () => {
  /** How far off the forecasts are that are made 6 min ahead, minutes; a forecast not made counts as infinite. */
  const errors = (forecast = coldInMinutes) =>
    COOLINGS.flatMap((cooling) => {
      const cold = coldFrom(cooling);
      if (cold === null || cold < 16) return [];
      const told = forecast(cooling.upTo(cold - 6), THRESHOLD);
      return [told === null ? Number.POSITIVE_INFINITY : Math.abs(told - 6)];
    });

  it('is off by at most 1.5 min in the median, 6 min ahead, on simulated coolings', () => {
    const all = errors();
    expect(all.length).toBeGreaterThan(20);
    expect(median(all)).toBeLessThanOrEqual(1.5);
    expect(all.filter((error) => error === Number.POSITIVE_INFINITY).length / all.length).toBeLessThan(0.1);
  });

  it('would not be if it read the wrong threshold', () => {
    expect(
      median(errors((readings, threshold) => coldInMinutes(readings, celsius(threshold - 1)))),
    ).toBeGreaterThan(1.5);
  });

  it('gives no false alarm in an hour of steady cabin, just after loading included', () => {
    for (const heaterCelsius of [16.5, 18, 24])
      for (const seed of [1, 2, 3]) {
        const steady = ride({
          outside: 10,
          draught: 0.15,
          heaterUntil: 600,
          heaterCelsius,
          seed,
          hours: 1.2,
        });
        expect(coldFrom(steady)).toBeNull();
        for (let minute = 3; minute <= 63; minute += 0.5)
          expect(coldInMinutes(steady.upTo(minute), THRESHOLD)).toBeNull();
      }
  });

  it('gives none at a steady temperature a step above the threshold, whatever the noise of a step', () => {
    const noisy = (from: number) =>
      Array.from({ length: 60 }, (_, index) => ({
        at: later(at(from), seconds(10 * index)),
        celsius: fromSixteenths(250 + ((index * 7919 + from) % 2)),
      }));
    for (let from = 0; from < 60; from += 1) expect(coldInMinutes(noisy(from), THRESHOLD)).toBeNull();
  });

  /** Exact Newton cooling from 24 towards 10 degC with 20 min: 24 - 10 = 14, and 16 degC is passed at 20 ln(14/6). */
  const newton = (until: number) =>
    trace(
      ...Array.from({ length: Math.round(until * 6) + 1 }, (_, index) => {
        const minute = index / 6;
        return [minute, 10 + 14 * Math.exp(-minute / 20)] as const;
      }),
    );

  it('finds the crossing of an exact cooling', () => {
    const crossing = 20 * Math.log(14 / 6);
    for (const ahead of [9, 6, 2])
      expect(Math.abs(coldInMinutes(newton(crossing - ahead), celsius(16))! - ahead)).toBeLessThan(0.6); // neighbouring time constants have a say
  });

  it('says nothing too early, when below already, when warming, or from too few readings', () => {
    const crossing = 20 * Math.log(14 / 6);
    expect(coldInMinutes(newton(crossing - inMinutes(FORECAST_AHEAD_MAX) - 2), celsius(16))).toBeNull();
    expect(coldInMinutes(newton(crossing + 1), celsius(16))).toBeNull();
    expect(coldInMinutes(newton(3.9), celsius(23))).toBeNull();
    expect(coldInMinutes([], celsius(16))).toBeNull();
    const warming = newton(10).map(({ at: instant, celsius: degrees }) => ({
      at: instant,
      celsius: celsius(40 - degrees),
    }));
    expect(coldInMinutes(warming, celsius(16))).toBeNull();
    const sparse = newton(12).filter((_, index) => index % 6 === 0);
    expect(coldInMinutes(sparse, celsius(16))).toBeNull();
  });

  it('never tells more than its limit', () => {
    for (let minute = 4; minute < 17; minute += 0.25) {
      const told = coldInMinutes(newton(minute), celsius(16));
      if (told !== null) expect(minutes(told)).toBeLessThanOrEqual(FORECAST_AHEAD_MAX);
    }
  });
});
