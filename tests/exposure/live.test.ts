import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { judgeExposure } from '../../src/exposure/judge.js';
import { type LiveState, liveState } from '../../src/exposure/live.js';
import { DEFAULT_RULES, type RuleSet } from '../../src/exposure/ruleSet.js';
import type { Exposure } from '../../src/exposure/types.js';
import type { Celsius } from '../../src/units/temperature.js';
import { durationMs, minutes } from '../../src/units/time.js';
import { at, exposure, from, seating, steady, trace } from './traces.js';

const RULES: RuleSet = { ...DEFAULT_RULES, thresholdCelsius: 16 as Celsius };

const live = (
  now: number,
  readings: Parameters<typeof from>[0],
  change: Partial<Exposure> = { seatings: [seating('P', 0, 600)] },
): LiveState => liveState(exposure(now, change), from(readings), RULES);

describe('liveState()', () => {
  it('says how a warm cup is doing', () => {
    expect(live(60, steady(0, 59.5, 30))).toEqual({
      latest: { celsius: 30, age: 30_000 },
      word: 'warm',
      ruledAlready: null,
      coldMinutes: { certain: 0, possible: 0 },
      coldMinutesLeft: 5,
      coldInMinutes: null,
      advice: null,
      minutesToDue: 120,
      minutesToLong: 135,
      alarm: null,
    });
  });

  it.each([
    ['cold', 15.4, 0.5],
    ['near cold', 16.4, 0.5],
    ['near cold', 15.6, 0.5],
    ['warm', 16.5, 0.5], // T - U is exactly the threshold: not below it
    ['warm', 39.5, 0.5],
    ['near hot', 39.6, 0.5],
    ['near hot', 40.4, 0.5],
    ['hot', 40.6, 0.5],
    ['cold', 15, 0],
  ])('calls it %s at %d +- %d degC', (word, degrees, uncertainty) => {
    const seatings = [seating('P', 0, 600, uncertainty)];
    expect(live(10, steady(0, 10, degrees), { seatings }).word).toBe(word);
  });

  it('says "no reading" once the latest is older than a gap may be, not before', () => {
    expect(live(61, steady(0, 60, 30)).word).toBe('warm');
    expect(live(61.1, steady(0, 60, 30))).toMatchObject({ word: 'no reading', latest: { celsius: 30 } });
    expect(live(61.1, [])).toMatchObject({ word: 'no reading', latest: null });
  });

  it('says "not seated" before the first seating and after a lift', () => {
    const seatings = [seating('P', 2, 20)];
    const readings = steady(0, 60, 30);
    expect(live(1, readings, { seatings: [] })).toMatchObject({ word: 'not seated', latest: null });
    expect(live(20, readings, { seatings }).word).toBe('warm');
    expect(live(21, readings, { seatings })).toMatchObject({ word: 'not seated', latest: null });
  });

  it('shows the slot the cup is in now, not the one before', () => {
    const seatings = [seating('Q', 30, 600), seating('P', 0, 30)];
    const P = steady(0, 60, 30);
    expect(live(40, { P, Q: steady(30, 40, 20) }, { seatings }).latest?.celsius).toBe(20);
    expect(live(30.5, { P, Q: [] }, { seatings })).toMatchObject({ word: 'no reading', latest: null });
  });

  it('counts down to cold by the spell or the total, whichever ends first', () => {
    // cold from minute 60 on (16 exactly before): 3 of 5 minutes used
    const spell = [...steady(0, 60, 16), ...steady(60.5, 63, 15)];
    expect(live(63, spell)).toMatchObject({
      word: 'cold',
      coldMinutesLeft: 2,
      alarm: {
        level: 'act-now',
        kind: 'cold',
        text: 'cold, lost in about 2 min: warm the cabin or move it inwards',
      },
    });
    // a spell of 4 min long before and now 1 min: 5 of 10 in total, 1 of 5 in this spell
    const earlier = [
      ...steady(0, 20, 16),
      ...steady(20.5, 23.5, 15),
      ...steady(24, 40, 16),
      ...steady(40.5, 41, 15),
    ];
    expect(live(41, earlier).coldMinutesLeft).toBeCloseTo(4, 9);
    // two spells of 4 min before and now 1 min: 9 of 10 in total
    const cold = (start: number, end: number) => [...steady(start + 0.5, end - 0.5, 15), ...trace([end, 16])];
    const total = [
      ...steady(0, 20, 16),
      ...cold(20, 24),
      ...cold(24, 28),
      ...steady(28.5, 40, 16),
      ...steady(40.5, 41, 15),
    ];
    expect(live(41, total).coldMinutesLeft).toBeCloseTo(1, 9);
  });

  it('says when a cup is ruled out already, and then sounds no alarm that cannot help', () => {
    const readings = [...steady(0, 60, 16), ...steady(60.5, 66, 15)];
    expect(live(66, readings)).toMatchObject({
      ruledAlready: 'cold',
      word: 'cold',
      coldMinutesLeft: 0,
      alarm: null,
    });
    expect(live(66, steady(0, 66, 41))).toMatchObject({ ruledAlready: 'hot', alarm: null });
  });

  it('asks to fill a cup again that went cold at once, as long as its colony is near', () => {
    // cold from minute 1 on: ruled out after 5 minutes of it
    const readings = [...steady(0, 1, 16), ...steady(1.5, 40, 10)];
    const alarmAt = (minute: number) =>
      live(
        minute,
        readings.filter((reading) => reading.at <= at(minute)),
      ).alarm;
    expect(alarmAt(5)?.kind).toBe('cold');
    expect(alarmAt(7)).toEqual({
      level: 'act-now',
      kind: 'refill',
      text: 'lost to cold: replace it while still here',
    });
    expect(alarmAt(30)?.kind).toBe('refill');
    expect(alarmAt(30.5)).toBeNull();
  });

  it('alarms for a hot cup, at once and even when ruled out from the alarm temperature on', () => {
    expect(live(3, steady(0, 3, 41)).alarm).toEqual({
      level: 'act-now',
      kind: 'hot',
      text: 'hot: cool the cabin, keep the sun off',
    });
    expect(live(30, steady(0, 30, 45)).alarm).toEqual({
      level: 'act-now',
      kind: 'very-hot',
      text: 'very hot: cool the cabin at once',
    });
    expect(live(30, steady(0, 30, 44.9)).alarm).toBeNull();
  });

  it('alarms while there is still time for a cup that will be cold', () => {
    // from 22 degC one degree in two minutes: 19 at minute 66, 16 at minute 72
    const cooling = [
      ...steady(0, 60, 22),
      ...trace(
        ...Array.from({ length: 24 }, (_, index) => [60 + (index + 1) / 2, 22 - (index + 1) / 4] as const),
      ),
    ];
    const upTo = (minute: number) =>
      live(
        minute,
        cooling.filter((reading) => reading.at <= at(minute)),
      );
    expect(upTo(60)).toMatchObject({ coldInMinutes: null, alarm: null });
    const state = upTo(70);
    expect(state.word).toBe('warm');
    expect(Math.abs(state.coldInMinutes! - 2)).toBeLessThan(1);
    expect(state.alarm).toEqual({
      level: 'act-now',
      kind: 'cold-soon',
      text: `cold in about ${Math.round(state.coldInMinutes!)} min: warm the cabin or move it inwards`,
    });
    // without the last readings nobody knows
    expect(
      live(
        72,
        cooling.filter((reading) => reading.at <= at(70)),
      ).coldInMinutes,
    ).toBeNull();
  });

  it('alarms for a cup out of sight after half the spell it may be cold', () => {
    expect(live(62.4, steady(0, 60, 30)).alarm).toBeNull();
    expect(live(62.5, steady(0, 60, 30)).alarm).toEqual({
      level: 'act-now',
      kind: 'no-reading',
      text: 'no reading for about 3 min: check its probe and cable',
    });
    expect(live(3, [], { seatings: [] }).alarm?.text).toBe('not seated for about 3 min: seat the cup');
  });

  it('asks for the turn from the due time on, ruled out or not', () => {
    expect(live(179.9, steady(0, 200, 30)).alarm).toBeNull();
    expect(live(180, steady(0, 200, 30)).alarm).toEqual({
      level: 'due',
      kind: 'turn',
      text: 'turn now, too long in about 15 min',
    });
    expect(live(197, steady(0, 200, 10)).alarm).toEqual({
      level: 'due',
      kind: 'too-long',
      text: 'turn now, too long for about 2 min',
    });
  });

  it('shows the minutes of the ruling that a turn now would give', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 5, max: 90 }), fc.integer({ min: 12, max: 20 })), {
          minLength: 1,
        }),
        fc.integer({ min: 1, max: 60 }),
        fc.constantFrom(0, 2, 10),
        (steps, now, within) => {
          let second = 0;
          const readings = steps.flatMap(([step, degrees]) => {
            second += step;
            return trace([second / 60, degrees]);
          });
          const soFar = exposure(now, {
            seatings: [seating('P', 0, 600, 0.5)],
            precision: { load: minutes(within), turn: durationMs(0) },
          });
          const state = liveState(soFar, from(readings), RULES);
          const ruling = judgeExposure(soFar, from(readings), RULES);
          expect(state.coldMinutes).toEqual(ruling.coldMinutes);
          const isRuledCold = ruling.reasons.some((reason) => /^cold/.test(reason));
          expect(state.ruledAlready === 'cold').toBe(isRuledCold);
        },
      ),
      { numRuns: 200, seed: 1 },
    );
  });
});
