import { describe, expect, it } from 'vitest';
import type { Exposure } from '../../src/exposure/types.js';
import { judge } from './judgeRound.js';
import { at, type from, seating, steady, trace } from './traces.js';

describe('judgeExposure() tells observed from gap', () => {
  const observed = (readings: Parameters<typeof from>[0], change: Partial<Exposure> = {}) => {
    const ruling = judge(readings, { turnMinute: 10, ...change });
    const minute = (instant: number) => (instant - at(0)) / 60_000;
    return [ruling.observedMinutes, ...ruling.gaps.map((gap) => [minute(gap.from), minute(gap.to)])];
  };

  it('sees everything when neighbours are exactly maxGapSeconds apart, ends included', () => {
    // readings at 1, 2 ... 9: start and end stretches of 60 s and eight steps of 60 s
    expect(observed(steady(1, 9, 30, 60))).toEqual([10]);
  });

  it('takes a step one millisecond longer than maxGapSeconds as gap', () => {
    const late = steady(0, 10, 30, 60).map((reading, index) =>
      index < 5 ? reading : { ...reading, at: (reading.at + 1) as typeof reading.at },
    );
    // the step from minute 4 to 5 min 1 ms is 60.001 s; the reading after the turn is not inside the seating
    expect(observed(late)).toEqual([10 - 60_001 / 60_000, [4, 5 + 1 / 60_000]]);
  });

  it('takes a start and an end stretch longer than maxGapSeconds as gap', () => {
    // first reading at 1.5, last at 8
    expect(observed(steady(1.5, 8, 30, 30))).toEqual([6.5, [0, 1.5], [8, 10]]);
  });

  it('takes the time between seatings, before the first and after the last as gap', () => {
    const seatings = [seating('P', 1, 4), seating('Q', 6, 9)];
    expect(observed({ P: steady(0, 10, 30), Q: steady(0, 10, 30) }, { seatings })).toEqual([
      6,
      [0, 1],
      [4, 6],
      [9, 10],
    ]);
  });

  it('pairs no readings across the border of a seating, even of the same probe', () => {
    // readings at 4.5 and 5.5, border at 5: each holds for 30 s; at 3.5 and 6.5 each would hold for 90 s: gap
    const seatings = [seating('P', 0, 5), seating('P', 5, 10)];
    const without = (low: number, high: number) => [...steady(0, low, 30), ...steady(high, 10, 30)];
    expect(observed(without(4.5, 5.5), { seatings })).toEqual([10]);
    expect(observed(without(3.5, 6.5), { seatings })).toEqual([7, [3.5, 6.5]]);
  });

  it('uses readings at both ends of a seating and none outside it', () => {
    const ruling = judge(trace([0, 30], [1, 30], [1.5, -5], [2, 28], [2.5, 27], [3, 26], [3.5, 99]), {
      turnMinute: 3,
      seatings: [seating('P', 2, 3)],
    });
    expect([ruling.minCelsius, ruling.maxCelsius]).toEqual([26, 28]);
  });

  it('clips a seating to the exposure', () => {
    const ruling = judge(steady(-5, 15, 30), { turnMinute: 10, seatings: [seating('P', -5, 15)] });
    expect([ruling.observedMinutes, ruling.gaps]).toEqual([10, []]);
  });

  it('takes an isolated reading as part of the gap around it, yet as a reading inside a seating', () => {
    const readings = [...steady(0, 3, 30), ...trace([5, 12]), ...steady(7, 10, 30)];
    expect(observed(readings)).toEqual([6, [3, 7]]);
    expect(judge(readings, { turnMinute: 10 }).minCelsius).toBe(12);
  });

  it('gives null where nothing was read, and gap throughout', () => {
    const ruling = judge([]);
    expect(ruling).toMatchObject({
      ruling: 'unproven',
      observedMinutes: 0,
      minCelsius: null,
      maxCelsius: null,
      meanCelsius: null,
      degreeMinutesBelow: null,
      coldMinutes: { certain: 0, possible: 180 },
      hotMinutes: { certain: 0, possible: 180 },
      gaps: [{ from: at(0), to: at(180) }],
    });
    expect(judge([], { seatings: [] })).toEqual(ruling);
  });

  it('gives a mean only over observed time', () => {
    // one reading in the middle of 10 minutes: a reading, but nothing observed
    const ruling = judge(trace([5, 20]), { turnMinute: 10 });
    expect(ruling).toMatchObject({
      minCelsius: 20,
      maxCelsius: 20,
      meanCelsius: null,
      degreeMinutesBelow: null,
    });
  });
});
