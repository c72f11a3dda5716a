import { describe, expect, it } from 'vitest';
import { record } from '../../../src/visit/record.js';
import { label, minute } from '../../visit/situation.js';
import { eachOnDesk, OPEN } from './onDesk.js';

const on = eachOnDesk();
const { type, shown, cup, types, loadOne } = on;

describe('correcting and withdrawing', () => {
  it('asks for another entry when the one to be mended was withdrawn elsewhere meanwhile', () => {
    loadOne();
    type('8\n\n\n');
    type('12\nC-101\n3\n');
    expect(shown()).toContain('What is wrong with it?');
    const lifted = cup('C-101').entries.at(-1)!;
    record(on.folder.store, on.now, () => [
      {
        type: 'entry-withdrawn',
        cup: label('C-101'),
        entry: lifted.seq,
        why: 'a'.repeat(64),
        at: on.now,
      } as never,
    ]);
    on.session.look();
    expect(shown()).toContain('Which entry?');
  });

  it('says of what was entered last why it is not taken back', () => {
    type(OPEN);
    type('u');
    expect(shown()).toContain('a visit is closed, not withdrawn');
    type('1\nC-101\n\n7\n1\n\n*9\n\n\nC-102\n\n\nu');
    expect(cup('C-101').spoiled).not.toBeNull();
    expect(shown()).toContain('A replacement is not withdrawn');
  });

  it('takes back the last entry as a withdrawal with a reason, never the load', () => {
    loadOne();
    type('8\n\n\n');
    expect(cup('C-101').places.at(-1)!.to).not.toBeNull();
    type('u2\n\n');
    expect(cup('C-101').places).toMatchObject([{ slot: 1, to: null }]);
    expect(types().at(-1)).toBe('entry-withdrawn');
    type('1\nC-102\n\n\n\n\n*u');
    expect(shown()).toContain('A load is not withdrawn');
  });

  it('takes back a count of another cup: it is not read again, and the result waits again', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*4\n\n5\n\n*5\n\n5\n\n*17\n');
    expect(shown()).toContain('the result of 260512-1');
    // The entries are loaded, seated, turned, tray, wash.
    type('*12\nC-101\n');
    expect(shown()).toMatch(/4 \d\d:\d\d counted: tray 5/);
    type('4\n');
    expect(shown()).toContain('withdraw it: it was not read of this cup');
    type('\n3\n');
    expect(shown().replaceAll(/\s+/g, ' ')).toContain(
      'Withdraw "counted: tray 5" of C-101, tray then not read: wrong cup. Enter: record',
    );
    expect(cup('C-101').counts.tray).toBe(5);
    type('\n');
    expect(cup('C-101')).toMatchObject({ counts: { tray: null, wash: 5 }, turn: minute(181) });
    type('17\n');
    expect(shown()).toContain('waits for the counts');
    expect(shown()).toContain('1 tray not read: C-101');
    type('*4\n\n2\n\n*');
    expect(cup('C-101').counts.tray).toBe(2);
  });

  it('takes back the count, or the correction, that was entered last', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*4\n\n5\n\n*4\nC-101\n7\n1\n\n*');
    expect(cup('C-101').counts.tray).toBe(7);
    type('u');
    expect(shown()).toContain('Why was it wrong?');
    type('2\n');
    expect(shown()).toContain('tray then 5');
    type('\n');
    expect(cup('C-101').counts.tray).toBe(5);
    type('u');
    expect(shown()).toContain('A correction of cup C-101 is not withdrawn here');
    type('5\n\n4\n\n*u3\n\n');
    expect(cup('C-101').counts).toMatchObject({ tray: 5, wash: null });
  });

  it('corrects a slot, a time and a colony', () => {
    loadOne();
    on.now = minute(60);
    // The entry "seated", its slot, then its time; then the colony of the load.
    type('12\nC-101\n2\n3\nA:2\n1\n\n');
    expect(cup('C-101').places).toMatchObject([{ slot: 2 }]);
    type('12\nC-101\n2\n1\n12:01\n1\n\n');
    expect(cup('C-101').places).toMatchObject([{ from: minute(1) }]);
    type('12\nC-101\n1\n6\n17\n1\n\n');
    expect(cup('C-101').colony).toBe('17');
  });
});
