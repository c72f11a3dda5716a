import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { Observation } from '../../src/exposure/types.js';
import { Refusal } from '../../src/units/refusal.js';
import type { Celsius } from '../../src/units/temperature.js';
import { minutes } from '../../src/units/time.js';
import { judge, ROUND } from './judgeRound.js';
import { at, seating, steady, trace } from './traces.js';

/** Readings of probe P every 30 s at 30 degC, with another temperature from one minute to another. */
function dip(degrees: number, start: number, end: number, turn = 180): Observation[] {
  return [...steady(0, start - 0.5, 30), ...steady(start, end, degrees), ...steady(end + 0.5, turn, 30)];
}

describe('judgeExposure() bounds cold and hot time', () => {
  it('interpolates crossings', () => {
    // 18 to 14 in one minute crosses 16 after 30 s; back the same: 0.5 + 1 (at 14) + 0.5 = 2 min below
    const ruling = judge([...steady(0, 9, 18), ...trace([10, 14], [11, 14]), ...steady(12, 180, 18)]);
    expect(ruling.coldMinutes).toEqual({ certain: 2, possible: 2 });
    expect(ruling.longestColdSpellMinutes).toEqual({ certain: 2, possible: 2 });
    // 16 - 14 = 2 degrees deep: 2 * 0.5/2 + 2 * 1 + 2 * 0.5/2 = 3 degree-minutes
    expect(ruling.degreeMinutesBelow).toBeCloseTo(3, 12);
  });

  it('counts T + U below the threshold as certain, T - U below it as possible', () => {
    // 18 -> 14 -> 18 with U = 1: T + 1 < 16 below 15, T - 1 < 16 below 17
    // per flank of 60 s over 4 degrees: certain 1/4 min, possible 3/4 min; the floor lasts 1 min
    const ruling = judge([...steady(0, 9, 18), ...trace([10, 14], [11, 14]), ...steady(12, 180, 18)], {
      seatings: [seating('P', 0, 180, 1)],
    });
    expect(ruling.coldMinutes).toEqual({ certain: 1.5, possible: 2.5 });
  });

  it('counts T - U above the hot limit as certain, T + U above it as possible', () => {
    // the same upside down around 40: 38 -> 42 -> 38
    const ruling = judge([...steady(0, 9, 38), ...trace([10, 42], [11, 42]), ...steady(12, 180, 38)], {
      seatings: [seating('P', 0, 180, 1)],
    });
    expect(ruling.hotMinutes).toEqual({ certain: 1.5, possible: 2.5 });
    expect(ruling.longestHotSpellMinutes).toEqual({ certain: 1.5, possible: 2.5 });
  });

  it('takes a temperature exactly at a limit as not past it, in spite of binary fractions', () => {
    // as decimals 15.2 + 0.1 = 15.3, 16.7 - 1.4 = 15.3 and 38.6 - 0.3 = 38.3; as binary fractions not all are
    const rules = { ...ROUND, thresholdCelsius: 15.3 as Celsius, hotCelsius: 38.3 as Celsius };
    const at = (degrees: number, uncertainty: number) =>
      judge(steady(0, 180, degrees), { seatings: [seating('P', 0, 180, uncertainty)] }, rules);
    expect(15.2 + 0.1).toBeLessThan(15.3);
    expect(at(15.2, 0.1).coldMinutes).toEqual({ certain: 0, possible: 180 });
    expect(at(16.7, 1.4).coldMinutes).toEqual({ certain: 0, possible: 0 });
    expect(38.6 - 0.3).toBeGreaterThan(38.3);
    expect(at(38.6, 0.3).hotMinutes).toEqual({ certain: 0, possible: 180 });
    expect(judge(steady(0, 180, 16)).ruling).toBe('valid');
  });

  it('ends a certain spell at a gap and carries a possible one through it', () => {
    // cold from 10 to 13 and from 15 to 18, nothing read from 13 to 15
    const readings = dip(14, 10, 18).filter((reading) => reading.at <= at(13) || reading.at >= at(15));
    const ruling = judge(readings);
    // flanks: 9.5 to 10 falls from 30 to 14, past 16 for 2/16 of 30 s = 0.0625 min, likewise 18 to 18.5
    expect(ruling.longestColdSpellMinutes.certain).toBeCloseTo(3.0625, 7);
    expect(ruling.coldMinutes.certain).toBeCloseTo(6.125, 7);
    expect(ruling.longestColdSpellMinutes.possible).toBeCloseTo(8.125, 7);
    expect(ruling.hotMinutes).toEqual({ certain: 0, possible: 2 });
  });

  it('joins possible stretches that touch in one instant, and not certain ones', () => {
    // 14 up to exactly 16 at minute 12 and down again: 10 to 12 and 12 to 14 touch
    const readings = [
      ...steady(0, 9, 30),
      ...trace([10, 14], [11, 15], [12, 16], [13, 15], [14, 14]),
      ...steady(15, 180, 30),
    ];
    const ruling = judge(readings);
    // flanks 30 <-> 14 over one minute: 2/16 min = 0.125 each; in all 0.125 + 4 + 0.125
    expect(ruling.coldMinutes).toEqual({ certain: 4.25, possible: 4.25 });
    expect(ruling.longestColdSpellMinutes).toEqual({ certain: 2.125, possible: 4.25 });
  });

  it('joins a possible stretch with a gap that it touches', () => {
    // 15 until minute 4, then nothing until 6, then warm: 0 to 6 is one possible spell
    const ruling = judge([...steady(0, 4, 15), ...steady(6, 180, 30)]);
    expect(ruling.coldMinutes).toEqual({ certain: 4, possible: 6 });
    expect(ruling.longestColdSpellMinutes).toEqual({ certain: 4, possible: 6 });
    expect(ruling.ruling).toBe('unproven');
  });

  it('carries a certain spell from one slot to the next when the cup moves at once', () => {
    const seatings = [seating('P', 0, 90), seating('Q', 90, 180)];
    const P = [...steady(0, 86.5, 30), ...steady(87, 90, 14)];
    const Q = [...steady(90, 93, 12), ...steady(93.5, 180, 30)];
    const ruling = judge({ P, Q }, { seatings });
    // P: 3 min + 2/16 of 30 s = 3.0625; Q: 3 min + 4/18 of 30 s = 3.1111
    expect(ruling.longestColdSpellMinutes.certain).toBeCloseTo(3.0625 + 3 + (4 / 18) * 0.5, 7);
    expect(ruling.ruling).toBe('cold');
  });

  it('skips what is not an observation when it seeks neighbours', () => {
    // the caller leaves out a flagged reading at minute 10: its neighbours 9.5 and 10.5 are 60 s apart
    const readings = steady(0, 180, 30).filter((reading) => reading.at !== at(10));
    expect(judge(readings).gaps).toEqual([]);
    // two in a row: 9.5 and 11 are 90 s apart
    const fewer = readings.filter((reading) => reading.at !== at(10.5));
    expect(judge(fewer).gaps).toEqual([{ from: at(9.5), to: at(11) }]);
  });
});

describe('judgeExposure() rules', () => {
  const cliff = (degrees: number, start: number, end: number): Observation[] => {
    // two readings 1 ms apart make a wall, so that a spell has whole minutes
    const wall = 1 / 60_000;
    return [
      ...steady(0, start - 0.5, 30),
      ...trace([start - wall, 30]),
      ...steady(start, end, degrees),
      ...trace([end + wall, 30]),
      ...steady(end + 0.5, 180, 30),
    ];
  };
  /** A trace that sits exactly at the threshold outside the dip: the spell is exactly as long as the dip. */
  const exactly = (start: number, end: number): Observation[] => [
    ...steady(0, start - 0.5, 16),
    ...trace([start, 16]),
    ...steady(start + 0.5, end - 0.5, 15),
    ...steady(end, 180, 16),
  ];

  it('is valid when every possible figure is within its limit, without reasons', () => {
    expect(judge(steady(0, 180, 30))).toMatchObject({ ruling: 'valid', reasons: [], remarks: [] });
  });

  it('allows exactly five minutes in one spell, and no microsecond more', () => {
    expect(judge(exactly(60, 65))).toMatchObject({
      ruling: 'valid',
      longestColdSpellMinutes: { certain: 5, possible: 5 },
    });
    expect(judge(cliff(14, 60, 65)).ruling).toBe('cold'); // 5 min and 2 x 0.125 ms of wall
  });

  it('allows exactly ten minutes in total, put together from crossings, and not more', () => {
    // 8 spells: 17 -> 15 -> 15 -> 17 with steps of 30 s: 0.25 + 0.75 ... chosen so that each is 1.25 min long
    const spell = (start: number) =>
      trace([start, 17], [start + 0.5, 15], [start + 1.25, 15], [start + 1.75, 17]);
    const spells = (count: number) => {
      const starts = Array.from({ length: count }, (_, index) => 10 + index * 10);
      const dips = starts.flatMap(spell);
      const warm = steady(0, 180, 17).filter(
        (reading) => !starts.some((start) => reading.at >= at(start) && reading.at <= at(start + 1.75)),
      );
      return [...warm, ...dips].sort((a, b) => a.at - b.at);
    };
    // each: 0.25 (half of 30 s) + 0.75 + 0.25 = 1.25 min; eight are 10 min
    expect(judge(spells(8))).toMatchObject({ ruling: 'valid', coldMinutes: { certain: 10, possible: 10 } });
    expect(judge(spells(9))).toMatchObject({
      ruling: 'cold',
      coldMinutes: { certain: 11.25, possible: 11.25 },
    });
  });

  it('is unproven when only the possible figure exceeds its limit', () => {
    // U = 2: 17 for 12 minutes is possibly cold, never certainly
    const ruling = judge(dip(17, 60, 72), { seatings: [seating('P', 0, 180, 2)] });
    expect(ruling.ruling).toBe('unproven');
    expect(ruling.reasons).toHaveLength(1);
    expect(ruling.reasons[0]).toMatch(/^unproven: cold for at least 0, at most 12\.\d min of 180/);
  });

  it('is unproven after a gap longer than the spell allowed, and valid after a shorter one', () => {
    const without = (start: number, end: number) =>
      steady(0, 180, 30).filter((reading) => reading.at <= at(start) || reading.at >= at(end));
    expect(judge(without(60, 65)).ruling).toBe('valid');
    expect(judge(without(60, 65.5))).toMatchObject({
      ruling: 'unproven',
      reasons: [expect.stringMatching(/^unproven: cold for /), expect.stringMatching(/^unproven: hot for /)],
    });
  });

  it('is unproven when gaps make the possible total too long, though no spell is', () => {
    // three gaps of 4 min each: 12 min possibly cold, 4 in one spell; heat is ruled by the spell only
    const starts = [30, 60, 90];
    const readings = steady(0, 180, 30).filter(
      (reading) => !starts.some((start) => reading.at > at(start) && reading.at < at(start + 4)),
    );
    expect(judge(readings)).toMatchObject({
      ruling: 'unproven',
      longestColdSpellMinutes: { certain: 0, possible: 4 },
      reasons: [expect.stringMatching(/^unproven: cold for at least 0, at most 12 min of 180/)],
    });
  });

  it('rules hot by the spell only', () => {
    expect(judge(dip(41, 60, 66)).ruling).toBe('hot');
    // four spells of 4 min: 16 min in total, none above 5
    const readings = steady(0, 180, 30).map((reading) => {
      const minute = (reading.at - at(0)) / 60_000;
      return minute >= 20 && minute < 100 && minute % 20 < 4
        ? { ...reading, celsius: 41 as Celsius }
        : reading;
    });
    const ruling = judge(readings);
    expect(ruling.hotMinutes.certain).toBeGreaterThan(14);
    expect(ruling.ruling).toBe('valid');
  });

  it('says how many minutes in a sentence that begins with the ruling', () => {
    // 12 min cold, then a gap of 7 min next to it: at least 12, at most 19
    const readings = [...exactly(60, 72).filter((r) => r.at <= at(72) || r.at >= at(79))];
    const ruling = judge(readings);
    expect(ruling.ruling).toBe('cold');
    expect(ruling.reasons[0]).toMatch(/^cold: at least 12, at most 19 min of 180/);
    // the gap of 7 min is also possibly hot
    expect(ruling.reasons[1]).toMatch(/^unproven: hot for at least 0, at most 7 min of 180/);
  });

  it('takes the first ruling that applies and names every reason', () => {
    const readings = [...steady(0, 20, 14), ...steady(20.5, 40, 45), ...steady(40.5, 100, 30)];
    const ruling = judge(readings, { turnMinute: 100, spoiled: 'lid came off' });
    expect(ruling.ruling).toBe('spoiled');
    expect(ruling.reasons.map((reason) => reason.split(':')[0])).toEqual(['spoiled', 'short', 'cold', 'hot']);
    expect(judge(readings, { turnMinute: 100 }).ruling).toBe('short');
    expect(ruling.reasons[0]).toContain('lid came off');
  });

  it.each([
    [175, 'valid'],
    [174.9, 'short'],
    [195, 'valid'],
    [195.1, 'long'],
    [0, 'short'],
  ])('rules an exposure of %d min %s', (turnMinute, ruling) => {
    const result = judge(steady(0, 200, 30), { turnMinute });
    expect(result.ruling).toBe(ruling);
    expect(result.exposureMinutes).toBeCloseTo(turnMinute, 10);
  });

  it('never tells a figure as equal to a limit that it breaks', () => {
    const ruling = judge(steady(0, 200, 30), { turnMinute: 174.999 });
    expect(ruling.reasons[0]).toMatch(/^short: exposed for 174\.999 min, 175 are needed/);
  });

  it('is short or long only when it is so for every time within the precision, else unproven', () => {
    const precise = (turnMinute: number, load: number, turn: number) =>
      judge(steady(-20, 220, 30), {
        turnMinute,
        seatings: [seating('P', -20, 220)],
        precision: { load: minutes(load), turn: minutes(turn) },
      }).ruling;
    expect(precise(170, 2, 2)).toBe('short'); // 166 to 174
    expect(precise(170, 3, 2)).toBe('unproven'); // 165 to 175
    expect(precise(180, 3, 2)).toBe('valid'); // 175 to 185
    expect(precise(180, 4, 2)).toBe('unproven'); // 174 to 186
    expect(precise(193, 1, 2)).toBe('unproven'); // 190 to 196
    expect(precise(200, 2, 2)).toBe('long'); // 196 to 204
  });

  it('bounds cold time by the worst case of the precision', () => {
    // cold from 0 to 8; load known to +-4 min: certainly exposed to 4 min of it; seated only from 0 on, so that
    // up to 4 min more are gap
    const ruling = judge([...steady(0, 7.5, 15), ...steady(8, 184, 16)], {
      turnMinute: 184,
      precision: { load: minutes(4), turn: minutes(0) },
    });
    expect(ruling.coldMinutes).toEqual({ certain: 4, possible: 12 });
    expect(ruling.ruling).toBe('unproven');
  });

  it('remarks on a cool mean and a hot reading and never rules by them', () => {
    const cool = judge(steady(0, 180, 24.9), {}, DEFAULT_RULES);
    expect(cool).toMatchObject({
      ruling: 'valid',
      remarks: [expect.stringMatching(/^cool: the mean was 24\.9 °C/)],
    });
    expect(
      judge(steady(0, 180, 25.1), {}, { ...DEFAULT_RULES, coolMeanCelsius: 25.1 as Celsius }).remarks,
    ).toEqual([]);
    const warm = judge(steady(0, 180, 38.5), { remarks: ['load entered late'] });
    expect(warm).toMatchObject({
      ruling: 'valid',
      remarks: [expect.stringMatching(/^hot warning: .*38\.5 °C/), 'load entered late'],
    });
    expect(judge(steady(0, 180, 38)).remarks).toEqual([]);
  });

  it('refuses overlapping seatings, a turn before the load, and two readings at one instant', () => {
    expect(() => judge([], { seatings: [seating('P', 0, 91), seating('Q', 90, 180)] })).toThrow(Refusal);
    expect(() => judge([], { turnMinute: -1, seatings: [] })).toThrow(/before it is loaded/);
    const readings = [...trace([1, 20], [1, 20]), ...steady(2, 180, 20)];
    expect(judge(readings).ruling).toBe('valid');
    expect(() => judge([...trace([1, 20], [1, 21]), ...steady(2, 180, 20)])).toThrow(
      /two different readings/,
    );
  });
});
