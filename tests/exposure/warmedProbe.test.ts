import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Observation } from '../../src/exposure/types.js';
import {
  afterScan,
  NOTHING_WARM,
  WARM_MARGIN,
  WARM_RISE_MIN,
  warmedProbe,
  warmingNow,
} from '../../src/exposure/warmedProbe.js';
import { seededChance } from '../../src/units/clock.js';
import { fromSixteenths } from '../../src/units/temperature.js';
import { later, seconds } from '../../src/units/time.js';
import { LOAD } from './traces.js';

type Course = (second: number) => number;
const AIR: Course = () => 20;
/** A hand at 33 degC from a second on, felt with a time constant of 30 s. */
const hand =
  (from: number, to = 33): Course =>
  (second) =>
    second < from ? 20 : to + (20 - to) * Math.exp(-(second - from) / 30);

const until = (second: number, courses: Record<string, Course>, seed = 1) => {
  const chance = seededChance(seed);
  const readings = new Map(Object.keys(courses).map((probe) => [probe, [] as Observation[]]));
  for (let at = 0; at <= second; at += 10)
    for (const [probe, course] of Object.entries(courses))
      readings.get(probe)!.push({
        at: later(LOAD, seconds(at)),
        celsius: fromSixteenths(Math.round((course(at) + 0.03 * (2 * chance.uniform() - 1)) * 16)),
      });
  return warmingNow(readings, later(LOAD, seconds(second)));
};
/** The probe that is found first, scan by scan, and the states on the way. */
const search = (lastsSeconds: number, courses: Record<string, Course>, seed = 1) => {
  let state = NOTHING_WARM;
  const states: string[] = [];
  for (let second = 0; second <= lastsSeconds; second += 10) {
    const finding = until(second, courses, seed);
    states.push(finding.state);
    state = afterScan(state, finding);
    if (warmedProbe(state) !== null) return { probe: warmedProbe(state), states, second };
  }
  return { probe: null, states, second: lastsSeconds };
};

describe('warmedProbe()', () => {
  it('finds the one probe in a hand among others, whichever it is', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 9 }), fc.integer(), (held, seed) => {
        const courses = Object.fromEntries(
          Array.from({ length: 10 }, (_, index) => [`p${index}`, index === held ? hand(60) : AIR]),
        );
        const found = search(200, courses, seed);
        expect(found.probe).toBe(`p${held}`);
        expect(found.second).toBeLessThanOrEqual(110);
      }),
      { numRuns: 40 },
    );
  });

  it('never names one when two are warmed at once, or when the cabin warms them all', () => {
    const two = search(240, { a: hand(60), b: hand(60, 31), c: AIR });
    expect(two.probe).toBeNull();
    expect(two.states).toContain('doubtful');
    const late = search(240, { a: hand(60), b: hand(72), c: AIR });
    expect(late.probe).toBeNull();
    const cabin: Course = (second) => 20 + second / 20;
    expect(search(240, { a: cabin, b: cabin, c: cabin }).probe).toBeNull();
  });

  it('does not take a small rise for a hand, nor a probe that cools', () => {
    const weak = search(240, { a: hand(60, 20 + WARM_RISE_MIN - 0.2), b: AIR });
    expect(weak.probe).toBeNull();
    expect(new Set(weak.states)).toEqual(new Set(['nothing']));
    expect(search(240, { a: (second) => 33 - second / 30, b: AIR }).probe).toBeNull();
    expect(search(240, {}).probe).toBeNull();
  });

  it('goes on to the next probe while the last one cools', () => {
    const cooling: Course = (second) => 20 + 12 * Math.exp(-second / 200);
    expect(search(200, { a: cooling, b: hand(60), c: AIR }).probe).toBe('b');
  });
});

describe('warmingNow()', () => {
  it('asks for a margin: twice is doubtful, more than three times is not', () => {
    const rising =
      (by: number): Course =>
      (second) =>
        20 + (by * second) / 60;
    expect(until(60, { a: rising(6), b: rising(6 / (WARM_MARGIN - 0.6)) }).state).toBe('doubtful');
    expect(until(60, { a: rising(6), b: rising(6 / (WARM_MARGIN + 0.6)) })).toMatchObject({
      state: 'found',
      best: { probe: 'a' },
      second: { probe: 'b' },
    });
  });
});
