import { beforeEach, describe, expect, it } from 'vitest';
import { inventedRom, minute } from '../visit/situation.js';
import { eachOnDesk } from './entry/onDesk.js';

const on = eachOnDesk();
const { type, key, shown, loadOne, reads } = on;

/** What pages tell of a cup that is read, or rides, and of a visit. */
const TOLD =
  /Ruling|unproven|Tray 7|wash 3|rules it out|said of it|Cold minutes|│|the result of|\bwarm|ruled out(?! or)/;
const FORMS = [
  ['4', 'Count the mites on a tray'],
  ['5', 'Count the mites of a wash'],
  ['6', 'Bees of a cup'],
] as const;

describe('whoever counts', () => {
  beforeEach(() => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*4\n\n7\n\n*5\n\n3\n\n*');
  });

  it.each(FORMS)(
    'sees no trace, ruling or number of the cup from whose page he enters %s',
    (number, title) => {
      type('C-101\n');
      // Negative control: the page tells them while nobody counts.
      expect(shown()).toMatch(/Ruling: unproven/);
      expect(shown()).toContain('Tray 7, wash 3');
      type(`${number}\n`);
      expect(shown()).toContain(title);
      expect(shown()).not.toMatch(TOLD);
      // Another cup is asked for: still nothing of the first.
      key('back');
      expect(shown()).toContain(title);
      expect(shown()).not.toMatch(TOLD);
      key('back');
      expect(shown()).toContain('Tray 7, wash 3');
    },
  );

  it('sees none either when the number is corrected: the reason is asked for, the old number is not shown', () => {
    type('C-101\n4\n8\n');
    expect(shown()).toContain('It was counted before. Why does it change?');
    expect(shown()).not.toMatch(TOLD);
    type('1\n\n');
    expect(on.cup('C-101').counts.tray).toBe(8);
    expect(shown()).toContain('Tray 8, wash 3');
  });

  it.each(FORMS)('sees nothing of a cup that rides when he enters %s from its page', (number, title) => {
    type('1\nC-102\n\n7\n2\n\n*C-102\n');
    expect(shown()).toMatch(/So far nothing rules it out|said of it/);
    type(`${number}\n`);
    expect(shown()).toContain(title);
    expect(shown()).not.toMatch(TOLD);
  });

  it.each(FORMS)('sees no result when he enters %s from its page', (number, title) => {
    type('17\n');
    expect(shown()).toContain('the result of 260512-1');
    type(`${number}\n`);
    expect(shown()).toContain(title);
    expect(shown()).not.toMatch(TOLD);
    key('back');
    expect(shown()).toContain('the result of 260512-1');
  });

  it.each(FORMS)('sees no state in the picture while he enters %s', (number) => {
    type('1\nC-102\n\n7\n2\n\n*');
    const row = () => shown().match(/^ 2 . C-102.*$/m)?.[0] ?? '';
    const told = row();
    expect(told).toMatch(/\/10$/);
    type(`${number}\n`);
    expect(row()).toContain('rides');
    expect(row()).not.toMatch(/\/10/);
    // Negative control: another form leaves the picture as it is.
    type('**');
    type('11\n');
    expect(row()).toBe(told);
  });

  it.each(FORMS)(
    'is told what to do for a cup that is lost, and not that it is, while he enters %s',
    (number) => {
      type('1\nC-102\n\n7\n2\n\n*');
      reads(inventedRom(2), 8, on.now, 12);
      on.now = minute(193);
      on.session.look();
      const alarm = () => shown().match(/^ACT NOW slot A:2.*$/m)?.[0];
      expect(alarm()).toContain('lost to cold: replace it while still here');
      type(`${number}\n`);
      expect(alarm()).toMatch(/^ACT NOW slot A:2 replace it while still here/);
      expect(shown()).not.toMatch(/lost|to cold/);
      // Negative control: another form leaves the alarm as it is.
      type('**9\n');
      expect(alarm()).toContain('lost to cold');
    },
  );

  it('turns the pages of the picture meanwhile, and comes back to the lines of its page', () => {
    type('C-101\n');
    const page = shown();
    type('4\n');
    key('down');
    key('back');
    key('back');
    expect(shown()).toBe(page);
  });
});
