import { describe, expect, it } from 'vitest';
import { bell, STROKES } from '../../src/screen/bell.js';
import type { AlarmRow } from '../../src/screen/view.js';

const alarm = (level: AlarmRow['level'], cup: string): AlarmRow => ({
  level,
  cup,
  place: 'A:1',
  yard: 'sedge-12',
  text: 'text',
});
const ACT = alarm('act-now', '260512-01');
const DUE = alarm('due', '260512-02');
/** The sounds of a series of looks. */
const sounds = (looks: readonly AlarmRow[][], muted: (look: number) => boolean = () => false) => {
  let sounded: ReadonlySet<string> = new Set();
  return looks.map((alarms, look) => {
    const { sound, sounded: next } = bell(sounded, alarms, muted(look));
    sounded = next;
    return sound;
  });
};

describe('bell()', () => {
  it('sounds once for a new alarm, and again only after it was gone', () => {
    expect(sounds([[], [ACT], [ACT], [], [ACT]])).toEqual([null, 'act-now', null, null, 'act-now']);
  });

  it('sounds for each kind in its own way', () => {
    expect(sounds([[DUE], [DUE, ACT]])).toEqual(['due', 'act-now']);
    expect(STROKES['act-now']).not.toBe(STROKES.due);
  });

  it('sounds again when a cup in alarm becomes due, but not when only the words change', () => {
    const changed = { ...ACT, text: 'other words' };
    expect(sounds([[ACT], [changed], [alarm('due', ACT.cup)]])).toEqual(['act-now', null, 'due']);
  });

  it('sounds act-now when both kinds are new', () => {
    expect(sounds([[DUE, ACT]])).toEqual(['act-now']);
  });

  it('stays silent while muted, and about what began meanwhile', () => {
    expect(sounds([[ACT], [ACT], [ACT, DUE]], (look) => look === 0)).toEqual([null, null, 'due']);
  });
});
