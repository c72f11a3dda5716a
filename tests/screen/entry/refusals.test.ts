import { describe, expect, it } from 'vitest';
import { timeProblem } from '../../../src/screen/entry/form.js';
import type { Fact } from '../../../src/store/facts.js';
import { utcMs } from '../../../src/units/time.js';
import { record } from '../../../src/visit/record.js';
import { counts, minute, turns } from '../../visit/situation.js';
import { eachOnDesk } from './onDesk.js';

const on = eachOnDesk();
const { type, cup, loadOne } = on;
/** The screen in one line. */
const shown = () => on.shown().replaceAll(/\s+/g, ' ');
/** By a command or on another screen, unseen by this one until it looks. */
const elsewhere = (...facts: readonly Fact[]) => record(on.folder.store, on.now, () => facts);
/** An instant as programs write it, and an option of a command. */
const CODE = /\d{4}-\d\d-\d\dT|[+-]\d\d:\d\d\b|Etc\/| --[a-z]/;

describe('a refusal on the screen', () => {
  it('says at which time of day a cup was turned already, whatever time is entered for it', () => {
    loadOne();
    on.now = minute(190);
    type('3\n\n14:50\n\n\n');
    // 12:00 UTC and 189 minutes.
    elsewhere(turns('C-101', 189));
    type('\n');
    expect(shown()).toContain(
      'Cup C-101 was turned at 15:09 already; correct that entry if the time is wrong.',
    );
    expect(shown()).not.toMatch(CODE);
    expect(cup('C-101').turn).toBe(minute(189));
    type('*****3\nC-101\n');
    expect(shown()).toContain('Cup C-101 was turned at 15:09 already.');
  });

  it('has the date before a time that is not of today', () => {
    loadOne();
    on.now = minute(190);
    elsewhere(turns('C-101', 189));
    on.now = minute(24 * 60);
    on.session.look();
    type('3\nC-101\n');
    expect(shown()).toContain('Cup C-101 was turned at 2026-05-12 15:09 already.');
  });

  it('tells the times of what does not hang together as times of day', () => {
    loadOne();
    on.now = minute(190);
    type('3\n\n11:00\n0\n\n\n');
    expect(shown()).toContain('Cup C-101 was loaded at 12:00, after 11:00; check the time.');
    expect(shown()).not.toMatch(CODE);
  });

  it.each(['99', '9', '25.10', '1260', 'noon'])('says how a time is written when %s is none', (typed) => {
    loadOne();
    on.now = minute(190);
    type(`3\n\n${typed}\n`);
    expect(shown()).toContain(`${typed} is no time; write it as 9.40.`);
    expect(shown()).not.toMatch(CODE);
    type(`***12\nC-101\n1\n1\n${typed}\n`);
    expect(shown()).toContain(`${typed} is no time; write it as 9.40.`);
  });

  it('says of a time that a day has twice how it can be told all the same', () => {
    const now = utcMs(Date.UTC(2026, 9, 25, 12));
    // Summer time ends there at 01:00 UTC on 2026-10-25: the tz database.
    expect(timeProblem('2.30', 'Europe/Berlin', now, { now })).toBe(
      '2.30 happens twice or never on that day, for summer time changes; write the whole in UTC, as 2026-10-25T12:00:00.000Z.',
    );
    expect(timeProblem('2026-10-25T00:30:00Z', 'Europe/Berlin', now, { now })).toBeNull();
    expect(timeProblem('3.30', 'Europe/Berlin', now, { now })).toBeNull();
  });

  it.each([
    ['4', { tray: 14 }, '9\n'],
    ['6', { bees: 314 }, '309\n\n\n'],
  ])('asks for the reason when the cup was counted elsewhere meanwhile (%s)', (number, read, keys) => {
    loadOne();
    on.now = minute(190);
    type('3\n\n\n*');
    type(`${number}\n\n${keys}`);
    elsewhere(counts('C-101', 190, read));
    type('\n');
    expect(shown()).toContain('Cup C-101 was counted meanwhile by somebody else; nothing was recorded.');
    expect(shown()).toContain('before. Why does it change?');
    expect(shown()).not.toMatch(/\b3?14\b/);
    expect(shown()).not.toMatch(CODE);
    type('1\n\n');
    expect(cup('C-101').counts).toMatchObject(number === '4' ? { tray: 9 } : { bees: 309 });
  });
});
