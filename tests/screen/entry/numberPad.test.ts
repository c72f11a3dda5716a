import { beforeEach, describe, expect, it } from 'vitest';
import { record } from '../../../src/visit/record.js';
import { counts, label, minute, turns } from '../../visit/situation.js';
import { eachOnDesk } from './onDesk.js';

const on = eachOnDesk();
const { type, key, shown, cup, types, loadOne } = on;

/** Everything that a number pad types, and nothing else. */
const pad = (keys: string) => {
  expect(keys).toMatch(/^[0-9.+\-*/\n]*$/);
  type(keys);
};
/** Loads more cups, C-102 on, so that there are so many. */
const loadUpTo = (cups: number) =>
  record(on.folder.store, on.now, () =>
    Array.from({ length: cups - 1 }, (_, index) => ({
      type: 'cup-loaded',
      visit: '260512-1' as never,
      cup: label(`C-${102 + index}`),
      kind: 'strip',
      active: null,
      lot: null,
      colony: null,
      group: null,
      at: on.now,
    })),
  );

describe('a number pad', () => {
  beforeEach(() => loadOne());

  it('does the field phase: turn, tray, wash, bees, each to the last Enter', () => {
    on.now = minute(181);
    pad('3\n\n\n*4\n\n7\n\n*5\n\n3\n\n*6\n\n310\n\n\n\n');
    expect(cup('C-101')).toMatchObject({
      turn: minute(181),
      counts: { tray: 7, wash: 3, bees: 310 },
      bees: { how: 'counted' },
    });
  });

  it('tells a time of day with its point, or without', () => {
    on.now = minute(190);
    pad('3\n\n15.01\n1\n1\n');
    expect(shown()).toContain('Turn C-101 at 15:01, give or take 1 min (entered late: hands full). Enter:');
    pad('****\n1502\n');
    expect(shown()).toContain('To within how many minutes');
  });

  it('turns all pages with one key, after the last comes the first', () => {
    expect(shown()).toContain('- page 1/2');
    pad('-');
    expect(shown()).toContain('- page 2/2');
    pad('-');
    expect(shown()).toContain('- page 1/2');
  });

  it('scrolls a page of text with it, and comes back to its beginning', () => {
    pad('.');
    const first = shown();
    expect(first).toMatch(/- more, up, down: lines 1 to \d+ of \d+/);
    const seen = [first];
    do {
      pad('-');
      seen.push(shown());
    } while (seen.at(-1) !== first && seen.length < 20);
    expect(seen.at(-1)).toBe(first);
    const texts = seen.join('\n');
    for (const word of [' 1 load', '14 overrule', '18 who', '21 quit', 'no result before all are'])
      expect(texts).toContain(word);
  });

  it('reaches offers that do not fit, by their numbers', () => {
    loadUpTo(40);
    pad('3\n');
    expect(shown()).toMatch(/- more: 1-\d+ of 40/);
    expect(shown()).not.toMatch(/\b40 C-140\b/);
    for (let pages = 0; pages < 5 && !shown().includes('40 C-140'); pages += 1) pad('-');
    expect(shown()).toContain('40 C-140');
    expect(shown()).toMatch(/- more: \d+-40 of 40/);
    pad('-');
    expect(shown()).toMatch(/- more: 1-\d+ of 40/);
    pad('40\n');
    expect(shown()).toContain('Turn C-140');
  });

  it('is a letter in a label and in words, once something is typed', () => {
    type('3\nC-1');
    expect(shown()).toContain('> C-1_');
    type('**11\n1\nhalf/half-');
    expect(shown()).toContain('> half/half-_');
  });

  it('mutes and sounds again after a second key, and says so', () => {
    pad('19\n');
    expect(shown()).toContain('Mute all alarms of this screen? They are still shown. Enter: mute');
    pad('*');
    expect(shown()).toContain('19 mute');
    pad('19\n\n');
    expect(shown()).toContain('19 unmute');
    expect(shown()).toContain('Mute: alarms are shown, and make no sound.');
    pad('19\n\n');
    expect(shown()).toContain('19 mute');
  });

  it('closes the screen after a second key, and not by a count that is typed outside of a form', () => {
    pad('21\n');
    expect(shown()).toContain('Close the screen? Logging goes on.');
    pad('7\n');
    expect(shown()).toContain('Press Enter alone, or * to go back.');
    key('backspace');
    expect(key('enter')).toBe(true);
  });

  it('turns the screen black on white and back', () => {
    pad('20\n');
    expect(on.session.theme).toBe('sun');
    pad('20\n');
    expect(on.session.theme).toBe('shade');
  });

  it.each([
    { columns: 60, rows: 20 },
    { columns: 80, rows: 24 },
  ])('finds pages, help, mute and quit on the screen at $columns columns', (size) => {
    const last = shown(size).split('\n').at(-1)!;
    for (const word of ['- page 1/', '+ seen', '* back', '. help', '21 quit', '19 mute'])
      expect(last).toContain(word);
  });

  it('records nothing by any of these', () => {
    const before = types().length;
    pad('-+/.-*19\n*20\n20\n21\n*18\n*');
    expect(types()).toHaveLength(before);
    // Negative control: an entry is recorded.
    record(on.folder.store, minute(200), () => [turns('C-101', 181), counts('C-101', 190, { tray: 1 })]);
    expect(types().length).toBeGreaterThan(before);
  });
});
