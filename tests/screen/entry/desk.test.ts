import { describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../../src/store/store.js';
import { record } from '../../../src/visit/record.js';
import { label, minute } from '../../visit/situation.js';
import { eachOnDesk, OPEN } from './onDesk.js';

const on = eachOnDesk();
const { type, key, shown, cup, types, season, loadOne } = on;

describe('the desk', () => {
  it('opens a visit by number and Enter, with the safety caution at the step', () => {
    type('15\n');
    expect(shown()).toContain('label, local rules and licensed people come first');
    type('\nalder-07\namitraz strip\nL7\n3\n');
    expect(shown()).toContain('Open visit 260512-1 to yard alder-07, 3 cups, amitraz strip lot L7.');
    expect(types()).not.toContain('visit-opened');
    type('\n');
    expect([...season().visits.values()]).toMatchObject([
      { visit: '260512-1', yard: 'alder-07', active: 'amitraz strip', lot: 'L7', declaredCups: 3 },
    ]);
  });

  it('loads a cup and seats it, and asks for the next one, whose label it offers', () => {
    loadOne();
    expect(cup('C-101')).toMatchObject({ colony: '7', kind: 'strip', load: minute(0) });
    expect(cup('C-101').places).toMatchObject([{ carrier: 'A', slot: 1 }]);
    type('1\n');
    expect(shown()).toContain('Label of the cup? Enter: C-102');
  });

  it('records nothing before the last Enter, and goes back question by question', () => {
    type(OPEN);
    type('1\nC-101\n\n7');
    expect(shown()).toContain('> 7_');
    const before = types().length;
    key('back');
    expect(shown()).toContain('> _');
    key('back');
    expect(shown()).toContain('With a strip?');
    for (const _ of [1, 2, 3]) key('back');
    expect(shown()).toContain('number or cup label');
    expect(types()).toHaveLength(before);
  });

  it('says at once what will not do, and keeps what was typed', () => {
    loadOne();
    on.now = minute(185);
    type('3\n\n\n');
    type('*4\n\n2x\n');
    expect(shown()).toContain('2x is no count; write a whole number from 0 to 9999.');
    expect(shown()).toContain('> 2x_');
    type('\b\n\n*');
    expect(cup('C-101').counts.tray).toBe(2);
    type('6\nC-101\n1\n');
    expect(shown()).toContain('Cup C-101 would have more mites than bees');
  });

  it('begins anew with what is scanned after an answer that was refused', () => {
    loadOne();
    on.now = minute(185);
    type('3\n\n\n');
    type('*4\nC-999\n');
    expect(shown()).toContain('There is no cup C-999');
    type('C-101\n');
    expect(shown()).toContain('Mites on the tray of C-101?');
    // A label of digits is no count, and no time of day.
    type('10111\n');
    expect(shown()).toContain('10111 is no count; write a whole number from 0 to 9999.');
  });

  it('takes no label of a cup for a time of day', () => {
    loadOne();
    type('*1\n1812\n\nc2\n2\n\n');
    expect(cup('1812').load).toBe(on.now);
    on.now = minute(185);
    type('*3\nC-101\n1812\n');
    expect(shown()).toContain('1812 is the label of a cup. Enter alone records this');
    // Control: where no cup is called so, it is a time.
    type('0700\n');
    expect(shown()).not.toContain('is the label of a cup');
  });

  it('says before it is recorded that a cup would be turned too early', () => {
    loadOne();
    on.now = minute(100);
    type('3\n\n');
    // 175 min are needed (default rule set), 100 are over.
    expect(shown()).toContain('Turn C-101, 75 min TOO EARLY. Enter: record');
    on.now = minute(176);
    expect(shown()).toContain('Turn C-101. Enter: record');
  });

  it('takes a late entry with its precision and reason', () => {
    loadOne();
    on.now = minute(190);
    type('3\n\n');
    type('15:02\n');
    expect(shown()).toContain('To within how many minutes');
    type('2\n1\n');
    expect(shown()).toContain('Turn C-101 at 15:02, give or take 2 min (entered late: hands full). Enter:');
    type('\n');
    expect(cup('C-101')).toMatchObject({ turn: minute(182), turnWithin: 120_000 });
    expect(cup('C-101').entries.at(-1)!.fact).toMatchObject({
      late: expect.any(String),
      who: expect.any(String),
    });
  });

  it('refuses a time that has not come, and one before the load', () => {
    loadOne();
    on.now = minute(190);
    type('3\n\n23:00\n');
    expect(shown()).toContain('That time has not come yet.');
    type('\b\b\b\b\b11:00\n0\n\n\n');
    expect(shown()).toMatch(/Cup C-101 was\s+loaded at/);
    expect(cup('C-101').turn).toBeNull();
  });

  it('keeps a half-typed form while alarms come, and when the store cannot be written', () => {
    loadOne();
    type('7\n\n3');
    on.now = minute(10);
    on.session.look();
    expect(on.session.look()).toBeNull();
    expect(shown()).toContain('> 3_');
    on.isBroken = true;
    type('\n\n');
    expect(shown()).toContain('Nothing was recorded, try again: disk I/O error');
    on.isBroken = false;
    type('\n');
    expect(cup('C-101').places.at(-1)).toMatchObject({ slot: 3 });
  });

  it('looks at a cup whose label is scanned; numbers are then about that cup', () => {
    loadOne();
    type('C-101\n');
    expect(shown()).toContain('Cup C-101, visit 260512-1 to yard alder-07, colony 7');
    type('10\n');
    expect(shown()).toContain('What happened?');
    type('1\n\n');
    expect(cup('C-101').spoiled).not.toBeNull();
  });

  it('refuses at the first question a cup that will not do, also when the form is begun on its page', () => {
    loadOne();
    for (const number of [4, 5, 6]) {
      type(`*C-101\n${number}\n`);
      expect(shown()).toContain('Cup C-101 has not been turned yet; turn it before counting.');
      expect(shown()).not.toMatch(/of C-101\?|Bees in C-101/);
      type('*');
    }
    type('2\n');
    expect(shown()).toContain('No cup waits for a slot.');
    on.now = minute(181);
    // Negative control: the cup will do for a turn, and for a count after that.
    type('*3\n\n4\n');
    expect(shown()).toContain('Mites on the tray of C-101?');
    type('**3\n');
    expect(shown()).toMatch(/No cup waits to be turned|will not do here/);
    expect(types().filter((each) => each === 'cup-turned')).toHaveLength(1);
  });

  it('shows no ruling and no efficacy to whoever counts', () => {
    loadOne();
    on.now = minute(100);
    type('3\n\n\n*');
    for (const keys of ['4\n', '**5\n', '**6\n', '**17\n', '**C-101\n']) {
      type(keys);
      // What stands over a column and over the due list is said of every cup.
      const ofTheCup = shown().replaceAll(/cold min|Turn and count every cup, ruled out or not/g, '');
      expect(ofTheCup).not.toMatch(/\b(ruled|short|cold|valid|unproven|efficacy|%)\b/);
      key('back');
      key('back');
    }
    type('17\n');
    expect(shown()).toContain('waits for the counts');
    type('*4\n\n5\n\n*5\n\n5\n\n*17\n');
    // Negative control: with both counts there is a result.
    expect(shown()).toContain('the result of 260512-1');
  });

  it('takes any sign for a letter inside of words, and for a key elsewhere', () => {
    loadOne();
    type('11\nC-101\n2+2*3\n\n');
    expect(cup('C-101').notes.map(({ text }) => on.folder.store.text(text as never))).toEqual(['2+2*3']);
    // Negative control: as the first sign, and outside of words, it goes back.
    type('11\n*');
    expect(shown()).not.toContain('Note something');
  });

  it('says why a result cannot be told, and goes on', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*4\n\n5\n\n*5\n\n5\n\n*');
    on.resultIsGone = true;
    type('17\n');
    expect(shown()).toContain('The result cannot be told: the store is gone');
    on.resultIsGone = false;
    expect(shown()).toContain('the result of 260512-1');
  });

  it('says the caution about alcohol at the step of the wash', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*5\n\n');
    expect(shown()).toContain('wash outdoors');
    type('**4\n\n');
    expect(shown()).not.toContain('wash outdoors');
  });

  it('takes a further wash, and corrects a count with a reason', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*5\n\n4\n\n*');
    type('5\nC-101\n1\n2\n\n*');
    expect(cup('C-101').washes).toEqual([4, 2]);
    type('5\nC-101\n2\n3\n1\n\n*');
    expect(cup('C-101').washes).toEqual([3, 2]);
  });

  it('takes Enter for what a choice offers, also when that is to say nothing', () => {
    loadOne();
    type('3\n\n\n*6\n\n300\n\n\n');
    expect(shown()).toContain('Enter: record');
    type('\n');
    expect(cup('C-101')).toMatchObject({ counts: { bees: 300 }, dead: null });
  });

  it('holds one more wash against the bees as soon as it is typed', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*6\n\n10\n\n2\n\n5\n\n9\n\n*');
    expect(cup('C-101')).toMatchObject({ counts: { wash: 9, bees: 10 }, dead: 'some' });
    type('5\nC-101\n1\n9\n');
    expect(shown()).toContain('would have more mites than bees');
    // Negative control: one fits.
    type('\b1\n');
    expect(shown()).toContain('C-101: 1 mite in one more wash. Enter: record');
  });

  it('refuses a label that would be taken for a line of a list', () => {
    type(OPEN);
    type('1\n7\n');
    expect(shown()).toContain('7 would be taken for a line of a list here');
    type('\b107\n');
    expect(shown()).toContain('With a strip?');
  });

  it('takes bees that were estimated, with how sure that is and the dead', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*6\n\n310\n3\n10\n2\n\n');
    expect(cup('C-101')).toMatchObject({ bees: { how: 'estimated', cv: 0.1 }, dead: 'some' });
  });

  it('says on the title line of a form which cup it is about, and when', () => {
    loadOne();
    on.now = minute(190);
    type('8\n\n15:02\n');
    expect(shown()).toMatch(/^Lift a cup out of its slot +C-101 at 15:02$/m);
  });

  it('says first of all that it is mute', () => {
    type('m');
    expect(shown({ columns: 60, rows: 20 })).toContain('19 unmute');
  });

  it('replaces a cup that is cold at once by the next label in the same slot', () => {
    loadOne();
    type('9\n\n\n\n\n\n');
    expect(cup('C-101').spoiled).toMatchObject({ replacedBy: 'C-102' });
    expect(cup('C-102').places).toMatchObject([{ slot: 1 }]);
  });

  it('tells what is no number and no label, and all keys on the help page', () => {
    type('C-9\n');
    expect(shown()).toContain('C-9 is neither a number of the list nor the label of a cup.');
    type('?');
    expect(shown()).toContain('Type a number and Enter');
    type('*');
    expect(shown()).not.toContain('Type a number and Enter');
  });

  it('begins every page with its first line, however far another was scrolled', () => {
    type('?');
    const top = shown();
    key('down');
    key('down');
    expect(shown()).toContain('lines 3 to');
    type('*?');
    expect(shown()).toBe(top);
  });

  it('asks for the next cup after a count in the picture, and shows the cup again after one from its page', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*C-101\n4\n7\n\n');
    expect(shown()).toContain('Cup C-101, visit 260512-1');
    expect(shown()).not.toContain('Count the mites on a tray');
    // Negative control: begun in the picture the form begins anew.
    type('*5\n\n3\n\n');
    expect(shown()).toContain('Count the mites of a wash');
  });

  it('offers the cups to be counted in the order in which they were turned', () => {
    loadOne();
    type('1\n\n\n\n\n\n*');
    on.now = minute(181);
    type('3\nC-102\n\n*');
    on.now = minute(182);
    type('3\nC-101\n\n*');
    for (const number of [4, 5, 6]) {
      type(`${number}\n`);
      expect(shown()).toMatch(/^1 C-102 .*\n2 C-101 /m);
      type('*');
    }
  });

  it('quits by q only while nothing is typed', () => {
    type('C');
    expect(key({ typed: 'q' })).toBe(false);
    expect(shown()).toContain('> Cq_');
    key('back');
    expect(key({ typed: 'q' })).toBe(true);
  });

  it.each([
    { columns: 60, rows: 20 },
    { columns: 80, rows: 24 },
    { columns: 140, rows: 40 },
  ])('fits a window of $columns x $rows in every form', (size) => {
    loadOne();
    for (let number = 1; number <= 17; number += 1) {
      type(`${number}\n`);
      for (const line of on.session.lines(size))
        expect(line.reduce((sum, { text }) => sum + text.length, 0)).toBeLessThanOrEqual(size.columns);
      expect(on.session.lines(size).length).toBeLessThan(size.rows);
      expect(shown(size)).toContain('never while driving');
      for (const _ of [1, 2, 3]) key('back');
    }
  });
});

it('entries of two screens meet in the store', () => {
  loadOne();
  const other = openStoreToWrite(on.folder.path, on.now);
  record(other, on.now, () => [{ type: 'cup-lifted', cup: label('C-101'), at: on.now }]);
  other.close();
  type('8\n');
  expect(shown()).toContain('No cup is in a slot.');
});
