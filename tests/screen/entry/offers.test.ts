import { describe, expect, it } from 'vitest';
import { askSlot } from '../../../src/screen/entry/asking.js';
import {
  begun,
  enter,
  type Form,
  type Known,
  type Question,
  questionOf,
} from '../../../src/screen/entry/form.js';
import { MENU, SETTINGS } from '../../../src/screen/entry/menu.js';
import { minute, rom } from '../../visit/situation.js';
import { KNOWN_EMPTY } from '../views.js';
import { eachOnDesk, OPEN } from './onDesk.js';

const on = eachOnDesk();
const { type, shown, cup, reads, loadOne } = on;

/** In order of their numbers, which stand below each other. */
const offers = () =>
  shown()
    .match(/\b\d C-\d+ (?= [AB]:)/g)
    ?.sort();

describe('the slots that are asked for', () => {
  it('are named where any is free, and the sentence is whole where none is known', () => {
    expect(askSlot(KNOWN_EMPTY, 'none').prompt).toBe('Which slot? Enter: none yet');
    type(OPEN);
    type('1\nC-101\n\n7\n');
    expect(shown()).toContain('Which slot? Free: A:1 A:2 A:3. Enter: none yet');
  });
});

describe('the cups that can be replaced', () => {
  it.each([
    ['begin with the one that an alarm says to replace', 8, ['1 C-101 ', '2 C-103 ', '3 C-102 ']],
    // Negative control: no cup is lost.
    ['begin with the last loaded when there is no such alarm', 30, ['1 C-103 ', '2 C-102 ', '3 C-101 ']],
  ])('%s', (_what, degrees, expected) => {
    type(OPEN);
    type('1\nC-101\n\n7\n1\n\n\n\n\n2\n\n');
    on.now = minute(1);
    type('\n\n\n3\n\n*');
    reads(rom, degrees, minute(0), 12);
    on.now = minute(12);
    on.session.look();
    expect(/slot A:1 lost to cold: replace it while still here/.test(shown())).toBe(degrees === 8);
    type('9\n');
    expect(offers()).toEqual(expected);
    expect(shown()).toContain(
      degrees === 8
        ? 'Which cup is replaced? First what an alarm says to replace, then the last loaded'
        : 'Which cup is replaced? The last loaded is first',
    );
    type('1\n\n\n\n\n');
    expect(cup(degrees === 8 ? 'C-101' : 'C-103').spoiled).toMatchObject({ replacedBy: 'C-104' });
  });
});

/** What a person types where nothing is offered; the first line of a list elsewhere. */
const TYPED: Readonly<Record<string, string>> = {
  cup: 'C-101',
  yard: 'alder-07',
  cups: '3',
  count: '5',
  value: '13.00',
  text: 'lid loose',
  why: 'typed wrongly',
  cv: '10',
};

/** Every question that a form asks until all is answered, with Enter alone where that will do, or never. */
function questionsOf(form: Form, known: Known, isByEnter: boolean): Question[] {
  const asked: Question[] = [];
  let filling = begun(form);
  while (asked.length < 15) {
    const question = questionOf(filling, known);
    asked.push(question);
    if (question.key === 'confirm') break;
    const typed =
      isByEnter && question.otherwise !== null
        ? ''
        : question.choices.length > 0
          ? '1'
          : (TYPED[question.key] ?? '');
    const next = enter({ ...filling, typed }, known);
    if (next.filling.problem !== null) break;
    filling = next.filling;
  }
  return asked;
}

describe('what Enter alone answers', () => {
  const forms = [...MENU, ...SETTINGS].flatMap(({ does }) => (typeof does === 'object' ? [does] : []));

  it.each(forms)('is said with each question of the form $name', (form) => {
    loadOne();
    // One is counted, one turned, one in no slot, one in a slot.
    on.now = minute(181);
    type('3\n\n\n*4\n\n5\n\n*1\n\n\n7\n2\n\n*3\n\n\n*1\n\n\n7\n\n\n\n\n\n3\n\n*');
    expect(cup('C-104').places).toHaveLength(1);
    const names = () => ['Tove'];
    const known = { ...KNOWN_EMPTY, season: on.season(), now: on.now, who: 'Rika', names };
    for (const isByEnter of [true, false])
      for (const { key, prompt, otherwise } of questionsOf(form, known, isByEnter))
        expect([key, prompt, otherwise === null || /Enter: \S/.test(prompt)]).toEqual([key, prompt, true]);
  });

  it('is the only cup that waits to be counted, by its label', () => {
    loadOne();
    on.now = minute(181);
    type('3\n\n\n*4\n');
    expect(shown()).toContain('Which cup? Enter: C-101');
    // Negative control: among several none is taken by Enter alone.
    type('*1\n\n\n7\n\n\n*3\n\n\n*4\n');
    expect(shown()).toContain('Which cup?\n');
    type('\n');
    expect(shown()).toContain('Type something, or the number of a line.');
  });
});
