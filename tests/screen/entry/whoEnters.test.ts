import { beforeEach, describe, expect, it } from 'vitest';
import { record } from '../../../src/visit/record.js';
import { lifts, minute, seats } from '../../visit/situation.js';
import { eachOnDesk } from './onDesk.js';

const on = eachOnDesk();
const { type, shown, cup, loadOne } = on;
/** Who entered what, in the order in which it was. */
const entered = () =>
  cup('C-101').entries.map(({ fact }) => [fact.type, on.folder.store.text(fact.who as never)]);

describe('who enters', () => {
  beforeEach(() => loadOne());

  it('stands in the last question of each form', () => {
    type('8\n\n');
    expect(shown()).toContain('Lift C-101. Enter: record by the second of the crew, as of now;');
  });

  it('is changed by a number or a key, and stands beside what is entered then', () => {
    type('18\nRika\n');
    expect(shown()).toContain('Rika enters from now on.');
    type('8\n\n\n');
    type('w');
    expect(shown()).toContain('Whose name? Enter: Rika, as before');
    type('1\n2\n\n2\n\n');
    expect(entered()).toEqual([
      ['cup-loaded', 'the second of the crew'],
      ['cup-seated', 'the second of the crew'],
      ['cup-lifted', 'Rika'],
      ['cup-seated', 'the second of the crew'],
    ]);
  });

  it('is the other of two at one key, in the form, and back', () => {
    type('8\n\n');
    // Negative control: with one name there is none to change to, and the sign is no answer.
    expect(shown()).not.toContain('/ by');
    type('/\n');
    expect(shown()).toContain('/ is no time; write it as 9.40.');
    type('\b***18\nRika\n8\n\n');
    expect(shown()).toContain('/ by the second of the crew');
    type('/');
    expect(shown()).toContain('Enter: record by the second of the crew');
    type('/\n');
    expect(entered().at(-1)).toEqual(['cup-lifted', 'Rika']);
    type('11\n1\nleft/right\n\n');
    expect(on.folder.store.text(cup('C-101').notes[0]!.text)).toBe('left/right');
  });

  it('offers by digits who entered something on another screen or by a command, the latest first', () => {
    const { store } = on.folder;
    record(store, minute(5), () => [{ ...lifts('C-101', 5), who: store.keepText('Tove') } as never]);
    record(store, minute(6), () => [{ ...seats('C-101', 2, 6), who: store.keepText('Odd') } as never]);
    on.now = minute(6);
    on.session.look();
    type('18\n');
    expect(shown()).toMatch(/^1 Odd$/m);
    expect(shown()).toMatch(/^2 Tove$/m);
    type('2\n');
    expect(shown()).toContain('Tove enters from now on.');
  });

  it('can be told while the store cannot be read, and the form stays', () => {
    type('8\n\n');
    Object.assign(on.folder.store, {
      text: () => {
        throw new Error('the disk is gone');
      },
    });
    // What was remembered of names is of another season.
    record(on.folder.store, on.now, () => [lifts('C-101', 0)]);
    on.session.look();
    expect(shown()).toContain('Lift C-101. Enter: record by the second of the crew');
    type('***18\nRika\n');
    expect(shown()).toContain('Rika enters from now on.');
  });

  it('is asked for in words, and keeps who it was on Enter alone', () => {
    type('18\n\n');
    expect(shown()).toContain('the second of the crew enters from now on.');
  });
});

describe('the last question shows the reasons that were given', () => {
  beforeEach(() => {
    loadOne();
    on.now = minute(181);
  });
  it.each([
    ['spoiling', '10\nC-101\n1\n', 'Mark C-101 as spoiled: lid came off.'],
    ['replacing', '9\n\n2\nC-102\n\n', 'Replace C-101 by C-102, into A:1: bees got out.'],
    ['overruling', '3\n\n\n*14\n1\n6\nfell over\n', 'Count C-101 as unproven: fell over.'],
    ['withdrawing', '12\nC-101\n2\n4\n3\n', 'Withdraw "seated in A:1" of C-101: wrong cup.'],
    ['correcting', '12\nC-101\n1\n6\n8\n1\n', 'the colony becomes 8: written down wrongly.'],
    ['counting again', '3\n\n\n*4\n\n5\n\n*4\nC-101\n6\n1\n', 'C-101: 6 mites on the tray: counted again.'],
  ])('%s', (_what, keys, told) => {
    type(keys);
    expect(shown().replaceAll(/\s+/g, ' ')).toContain(`${told} Enter: record by`);
  });
});
