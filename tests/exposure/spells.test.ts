import { describe, expect, it } from 'vitest';
import { type Figures, figuresIn } from '../../src/exposure/figures.js';
import type { Observation } from '../../src/exposure/types.js';
import { ROUND } from './judgeRound.js';
import { at, exposure, from, LOAD, steady, trace } from './traces.js';

const figures = (readings: readonly Observation[], to = 10): Figures =>
  figuresIn(exposure(to), { from: LOAD, to: at(to) }, from(readings), ROUND);

describe('spells past a limit', () => {
  it('tells the spell that still runs at the end', () => {
    const cooling = figures([...steady(0, 7, 18), ...steady(8, 10, 14)]);
    // 18 to 14 in a minute: below 16 from 7.5 on
    expect(cooling.spells.certainCold).toEqual({
      totalMinutes: 2.5,
      longestMinutes: 2.5,
      runningMinutes: 2.5,
    });
    const warming = figures([...steady(0, 2, 14), ...steady(3, 10, 18)]);
    expect(warming.spells.certainCold.runningMinutes).toBe(0);
  });

  it('does not call a certain spell running once a gap has begun, and a possible one does', () => {
    const lost = figures(steady(0, 7, 14));
    expect(lost.spells.certainCold).toMatchObject({ totalMinutes: 7, runningMinutes: 0 });
    expect(lost.spells.possibleCold).toMatchObject({ totalMinutes: 10, runningMinutes: 10 });
  });

  it('adds thousands of crossings without losing a microsecond', () => {
    // every 2 s between 15.9 and 16.1: below for exactly half the time, 5 of 10 min
    const points = Array.from(
      { length: 301 },
      (_, index) => [index / 30, index % 2 === 0 ? 15.9 : 16.1] as const,
    );
    expect(figures(trace(...points)).spells.certainCold.totalMinutes).toBe(5);
  });
});

describe('degree-minutes below the threshold', () => {
  it('adds triangles where the limit is crossed and leaves gaps out', () => {
    // 18 to 14 in a minute: triangle of 2 degrees by half a minute; then 2 degrees for 2 min; gap of 7 min
    expect(figures([...trace([0, 18]), ...steady(1, 3, 14)]).degreeMinutesBelow).toBeCloseTo(4.5, 12);
    expect(figures(steady(0, 10, 16)).degreeMinutesBelow).toBe(0);
  });
});
