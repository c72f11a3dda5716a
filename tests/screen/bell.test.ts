import { describe, expect, it } from 'vitest';
import type { AlarmRow } from '../../src/screen/alarms.js';
import {
  bell,
  FORGET_AFTER,
  REPEAT_AFTER,
  type Sounded,
  STROKES,
  stillAcknowledged,
} from '../../src/screen/bell.js';
import { monotonicMs } from '../../src/units/time.js';

const alarm = (level: AlarmRow['level'], cup: string, kind: AlarmRow['kind'] = 'cold'): AlarmRow => ({
  id: `${kind} ${cup}`,
  kind,
  level,
  cup,
  place: 'A:1',
  yard: 'sedge-12',
  text: 'text',
});
const ACT = alarm('act-now', '260512-01');
const DUE = alarm('due', '260512-02', 'turn');

interface Look {
  readonly at: number;
  readonly alarms: readonly AlarmRow[];
  readonly muted?: boolean;
  readonly acknowledged?: readonly AlarmRow[];
}
/** The sounds of a series of looks, `at` in seconds. */
const sounds = (looks: readonly Look[]) => {
  let sounded: Sounded = new Map();
  return looks.map(({ at, alarms, muted = false, acknowledged = [] }) => {
    const controls = { muted, acknowledged: new Set(acknowledged.map(({ id }) => id)) };
    const { sound, sounded: next } = bell(sounded, alarms, controls, monotonicMs(at * 1000));
    sounded = next;
    return sound;
  });
};
const REPEAT = REPEAT_AFTER / 1000;
const FORGET = FORGET_AFTER / 1000;

describe('bell()', () => {
  it('sounds for a new alarm at once, and again until somebody acknowledges it', () => {
    const looks = [0, 1, REPEAT - 0.1, REPEAT, REPEAT + 1, 2 * REPEAT].map((at) => ({ at, alarms: [ACT] }));
    expect(sounds(looks)).toEqual(['act-now', null, null, 'act-now', null, 'act-now']);
    expect(sounds(looks.map((look, i) => (i === 0 ? look : { ...look, acknowledged: [ACT] })))).toEqual([
      'act-now',
      null,
      null,
      null,
      null,
      null,
    ]);
  });

  it('sounds for each kind in its own way', () => {
    expect(
      sounds([
        { at: 0, alarms: [DUE] },
        { at: 1, alarms: [DUE, ACT] },
      ]),
    ).toEqual(['due', 'act-now']);
    expect(STROKES['act-now']).not.toBe(STROKES.due);
  });

  it('sounds again when something else is to be done for a cup, though the first was acknowledged', () => {
    const soon = alarm('act-now', ACT.cup, 'cold-soon');
    expect(
      sounds([
        { at: 0, alarms: [soon] },
        { at: 1, alarms: [soon], acknowledged: [soon] },
        { at: 2, alarms: [ACT], acknowledged: [soon] },
      ]),
    ).toEqual(['act-now', null, 'act-now']);
  });

  it('does not sound when only the words change', () => {
    expect(
      sounds([
        { at: 0, alarms: [ACT] },
        { at: 1, alarms: [{ ...ACT, text: 'other words' }] },
      ]),
    ).toEqual(['act-now', null]);
  });

  it('takes one that comes back at once for the same, and one that was long gone for a new one', () => {
    const back = (pause: number) =>
      sounds([
        { at: 0, alarms: [ACT] },
        { at: 1, alarms: [] },
        { at: pause, alarms: [ACT], acknowledged: [] },
      ])[2];
    expect(back(REPEAT - 1)).toBeNull();
    expect(back(FORGET + 1)).toBe('act-now');
  });

  it('sounds act-now when both kinds are new', () => {
    expect(sounds([{ at: 0, alarms: [DUE, ACT] }])).toEqual(['act-now']);
  });

  it('stays silent while muted, and sounds once that ends', () => {
    expect(
      sounds([
        { at: 0, alarms: [ACT], muted: true },
        { at: 100, alarms: [ACT], muted: true },
        { at: 101, alarms: [ACT] },
      ]),
    ).toEqual([null, null, 'act-now']);
  });
});

describe('stillAcknowledged()', () => {
  it('forgets what is gone, and leaves the set as it is otherwise', () => {
    const acknowledged = new Set(['cold 1', 'cold 2']);
    const known = (...ids: string[]) =>
      new Map(ids.map((id) => [id, { sounded: null, seen: monotonicMs(0) }]));
    expect(stillAcknowledged(acknowledged, known('cold 1', 'cold 2', 'turn 3'))).toBe(acknowledged);
    expect([...stillAcknowledged(acknowledged, known('cold 2'))]).toEqual(['cold 2']);
  });
});
