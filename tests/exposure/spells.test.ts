import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { degreeMinutesBelow, limitsOf, spellsPast } from '../../src/exposure/spells.js';
import { layOut } from '../../src/exposure/timeline.js';
import type { Observation } from '../../src/exposure/types.js';
import type { Celsius } from '../../src/units/temperature.js';
import { seconds } from '../../src/units/time.js';
import { at, from, LOAD, seating, steady, trace } from './traces.js';

const limits = limitsOf({ ...DEFAULT_RULES, thresholdCelsius: 16 as Celsius });
const timeline = (readings: readonly Observation[], to = 10) =>
  layOut('A', { from: LOAD, to: at(to) }, [seating('P', 0, to)], from(readings), seconds(60));

describe('spellsPast()', () => {
  it('tells the spell that still runs at the end', () => {
    const cooling = timeline([...steady(0, 7, 18), ...steady(8, 10, 14)]);
    // 18 to 14 in a minute: below 16 from 7.5 on
    expect(spellsPast(limits.certainCold, cooling)).toEqual({
      totalMinutes: 2.5,
      longestMinutes: 2.5,
      runningMinutes: 2.5,
    });
    const warming = timeline([...steady(0, 2, 14), ...steady(3, 10, 18)]);
    expect(spellsPast(limits.certainCold, warming).runningMinutes).toBe(0);
  });

  it('does not call a certain spell running once a gap has begun, and a possible one does', () => {
    const lost = timeline(steady(0, 7, 14));
    expect(spellsPast(limits.certainCold, lost)).toMatchObject({ totalMinutes: 7, runningMinutes: 0 });
    expect(spellsPast(limits.possibleCold, lost)).toMatchObject({ totalMinutes: 10, runningMinutes: 10 });
  });

  it('adds thousands of crossings without losing a microsecond', () => {
    // every 2 s between 15.9 and 16.1: below for exactly half the time, 5 of 10 min
    const points = Array.from(
      { length: 301 },
      (_, index) => [index / 30, index % 2 === 0 ? 15.9 : 16.1] as const,
    );
    expect(spellsPast(limits.certainCold, timeline(trace(...points))).totalMinutes).toBe(5);
  });
});

describe('degreeMinutesBelow()', () => {
  it('adds triangles where the limit is crossed and leaves gaps out', () => {
    // 18 to 14 in a minute: triangle of 2 degrees by half a minute; then 2 degrees for 2 min; gap of 7 min
    expect(degreeMinutesBelow(16 as Celsius, timeline([...trace([0, 18]), ...steady(1, 3, 14)]))).toBeCloseTo(
      4.5,
      12,
    );
    expect(degreeMinutesBelow(16 as Celsius, timeline(steady(0, 10, 16)))).toBe(0);
  });
});
