import { describe, expect, it } from 'vitest';
import { type AlarmKind, liveState } from '../../src/exposure/live.js';
import { DEFAULT_RULES, type RuleSet } from '../../src/exposure/ruleSet.js';
import type { AlarmRow } from '../../src/screen/alarms.js';
import { withoutRuling, withoutState } from '../../src/screen/blindWords.js';
import type { Celsius } from '../../src/units/temperature.js';
import { exposure, from, seating, steady, trace } from '../exposure/traces.js';

const RULES: RuleSet = { ...DEFAULT_RULES, thresholdCelsius: 16 as Celsius };

/** The alarm of a cup that rides, after so many minutes with these readings. */
function alarmAfter(minute: number, readings: ReturnType<typeof steady>, isSeated = true): AlarmRow {
  const seatings = isSeated ? [seating('P', 0, 600, 0.5)] : [];
  const { alarm } = liveState(exposure(minute, { seatings }), from(readings), RULES);
  return { ...alarm!, id: '', place: 'A:1', cup: 'C-101', yard: 'alder-07' };
}
/** From 22 degC, one degree in two minutes. */
const COOLING = trace(
  ...Array.from({ length: 141 }, (_, index) => [index / 2, 22 - Math.max(0, index - 120) / 4] as const),
);

/** The words are those of src/exposure/live.ts, cut to what is to be done. */
const ALARMS: readonly (readonly [AlarmKind, AlarmRow, string])[] = [
  ['refill', alarmAfter(9, steady(0, 9, 10)), 'replace it while still here'],
  ['cold-soon', alarmAfter(70, COOLING), 'warm the cabin or move it inwards'],
  [
    'cold',
    alarmAfter(62, [...steady(0, 60, 25), ...steady(60.5, 62, 14)]),
    'warm the cabin or move it inwards',
  ],
  [
    'near-cold',
    alarmAfter(64, [...steady(0, 60, 25), ...steady(60.5, 64, 16.4)]),
    'warm the cabin or move it inwards',
  ],
  ['hot', alarmAfter(3, steady(0, 3, 41)), 'cool the cabin, keep the sun off'],
  ['very-hot', alarmAfter(30, steady(0, 30, 45)), 'cool the cabin at once'],
  ['too-long', alarmAfter(200, steady(0, 200, 30)), 'turn now'],
];
/** Words of a state or of a ruling. */
const STATES = /lost|cold|\bhot\b|too long|warming/;

describe('an alarm for whoever counts', () => {
  it.each(ALARMS)('says of %s only what to do, in the words that it has else', (kind, alarm, words) => {
    expect(alarm.kind).toBe(kind);
    expect(withoutState(alarm)).toEqual({ ...alarm, text: words });
    expect(alarm.text).toContain(words);
    // Negative control: else it says more.
    expect(alarm.text).toMatch(STATES);
    expect(words).not.toMatch(STATES);
  });

  it.each([
    ['no-reading', alarmAfter(65, steady(0, 60, 25))],
    ['not-seated', alarmAfter(5, [], false)],
    ['turn', alarmAfter(181, steady(0, 181, 30))],
  ])('keeps its words when it is about no state of the cup (%s)', (kind, alarm) => {
    expect(alarm.kind).toBe(kind);
    expect(withoutState(alarm)).toEqual(alarm);
    expect(alarm.text).toMatch(/: (check|seat)|^turn now, too long in/);
  });
});

it('an alarm that is printed tells states, and no ruling', () => {
  const told = ALARMS.map(([kind, alarm]) => [kind, withoutRuling(alarm).text === alarm.text]);
  expect(Object.fromEntries(told)).toEqual({
    refill: false,
    'too-long': false,
    'cold-soon': true,
    cold: true,
    'near-cold': true,
    hot: true,
    'very-hot': true,
  });
});
