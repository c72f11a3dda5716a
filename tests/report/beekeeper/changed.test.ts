import { beforeEach, describe, expect, it } from 'vitest';
import { LANGUAGES } from '../../../src/report/words/languages.js';
import type { Fact } from '../../../src/store/facts.js';
import type { Store } from '../../../src/store/store.js';
import { record } from '../../../src/visit/record.js';
import { eachInNewStore } from '../../visit/newStore.js';
import { corrects, counts, label, minute, withdraws } from '../../visit/situation.js';
import { AFTERWARDS, cupsWith, type InventedCup, inventYards } from '../inventedYards.js';
import { pageOf, textOf } from './pageOf.js';
import { gradeOf } from './readability.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});
let why: string;
beforeEach(() => {
  why = store.keepText('looked wrong');
});

const SIX = cupsWith([5, 3], [2, 4], [8, 1], [3, 3], [6, 2], [4, 1]);
const UNREAD = { tray: null, wash: null };
const overrules = (cup: string, ruling: 'valid' | 'cold' | 'spoiled', at = 590): Fact => ({
  type: 'cup-overruled',
  cup: label(cup),
  ruling,
  why,
  at: minute(at),
});
const correctsWash = (cup: string, old: number, now: number): Fact =>
  ({ ...corrects(cup, 595, old, now), field: 'wash' }) as Fact;

function textAfter(cups: readonly InventedCup[], ...facts: Fact[]): string {
  inventYards(store, [{ yard: 'alder-07', cups }]);
  record(store, AFTERWARDS, () => facts);
  return textOf(pageOf(store, [], { isFinal: true }));
}
const BEFORE = 'A person changed what counts before the mites were known. Without that change: ';
const AFTER = 'A person changed what counts after the mites were known. Without that change: ';
const BOTH = 'A person changed what counts, in part after the mites were known. Without those changes: ';
const said = (text: string) => [BEFORE, AFTER, BOTH].filter((sentence) => text.includes(sentence));

describe('what a person changed of the rulings', () => {
  const countsLater = counts('ald-01', 592, { tray: 5, wash: 3 });

  it('is told as changed before the mites were known when it was', () => {
    const text = textAfter([UNREAD, ...SIX.slice(1)], overrules('ald-01', 'cold'), countsLater);
    expect(said(text)).toEqual([BEFORE]);
    // Counted as the others are: 28 of 42 mites, undecided.
    expect(text).toContain(`${BEFORE}not yet clear against the 70 % line.`);
    expect(textOf(pageOf(store, [], { words: LANGUAGES.es }))).toContain('cuando aún no se sabían');
  });

  it('is told as changed after they were known when it was', () => {
    const text = textAfter([UNREAD, ...SIX.slice(1)], countsLater, overrules('ald-01', 'cold', 594));
    expect(said(text)).toEqual([AFTER]);
    expect(textOf(pageOf(store, [], { words: LANGUAGES.es }))).toContain('cuando ya se sabían');
  });

  it('is told as both when one cup was changed before and another after', () => {
    const facts = [overrules('ald-01', 'cold'), countsLater, overrules('ald-02', 'spoiled', 594)];
    expect(said(textAfter([UNREAD, ...SIX.slice(1)], ...facts))).toEqual([BOTH]);
  });

  it('is no change when a person said what the rules say, and none where nobody did', () => {
    const [first, ...rest] = SIX;
    const text = textAfter([{ ...first, celsius: () => 10 }, ...rest], overrules('ald-01', 'cold'));
    expect(said(text)).toEqual([]);
    expect(text).toContain('1 cup got too cold for the strip to work (ald-01)');
  });

  it('is told of the active and lot it was made in, and of no other', () => {
    const cups = [...SIX, ...SIX].map((cup, index) => ({ ...cup, lot: index < 6 ? 'L7' : 'L8' }));
    const text = textAfter(cups, overrules('ald-01', 'spoiled'));
    const told = text.split('\n').filter((line) => /^ *Yard alder-07, amitraz strip, lot/.test(line));
    // Twice each: what was found, and the sentence to send.
    expect(told.map((line) => said(line))).toEqual([[AFTER], [], [], []]);
  });
});

describe('a cup that a person set aside', () => {
  const [first, ...rest] = SIX;
  const BY_SENSOR = 'Warm or cold was judged by the sensor and the clock alone, not by the mites.';

  it('is its own reason, and is not told as measured', () => {
    const text = textAfter(SIX, overrules('ald-01', 'cold'));
    expect(text).toContain('1 cup was set aside by a person (ald-01).');
    expect(text).not.toMatch(/got too cold|arm or cold was judged/);
  });

  it('stands beside those that the sensor ruled out', () => {
    const text = textAfter([{ ...first, celsius: () => 10 }, ...rest], overrules('ald-02', 'cold'));
    expect(text).toContain('1 cup got too cold for the strip to work (ald-01).');
    expect(text).toContain('1 cup was set aside by a person (ald-02).');
    expect(text).toContain(`But for what a person changed, ${BY_SENSOR.replace('Warm', 'warm')}`);
  });

  it('is not there where the sensor alone ruled', () => {
    // Negative control of the two tests above.
    const text = textAfter([{ ...first, celsius: () => 10 }, ...rest]);
    expect(text).toContain(BY_SENSOR);
    expect(text).not.toContain('set aside by a person');
  });

  it('is told what to do about it where too few are left', () => {
    const text = textAfter(SIX, ...[1, 2, 3].map((cup) => overrules(`ald-0${cup}`, 'cold')));
    expect(text).toContain('Where a person set cups aside, test again with new ones.');
    expect(text).not.toContain('Where cups got too cold');
  });
});

describe('counts that were corrected', () => {
  /** 54 of 60 mites fell, above the line; with 9 in each wash 54 of 108, below it: plain arithmetic. */
  const GOOD = cupsWith(...Array.from({ length: 6 }, () => [9, 1] as const));
  const ALL = [1, 2, 3, 4, 5, 6];

  it('are told with what they were first entered as', () => {
    const text = textAfter(GOOD, ...ALL.map((cup) => correctsWash(`ald-0${cup}`, 1, 9)));
    expect(text).toMatch(/Yard alder-07: below the 70 % line\./);
    expect(text).toContain(
      '6 mite counts were corrected after they were first entered. As first entered: above the 70 % line.',
    );
    expect(text).not.toContain('Without either');
    const spanish = textOf(pageOf(store, [], { words: LANGUAGES.es }));
    expect(spanish).toContain('6 cuentas de ácaros se corrigieron tras anotarse.');
  });

  it('are told with what it was without them and without changed rulings, when there are both', () => {
    // Set aside after the counts: five cups stay, 45 of 90 now; 45 of 50 as first entered; 54 of 60 without either.
    const facts = ALL.map((cup) => correctsWash(`ald-0${cup}`, 1, 9));
    const text = textAfter(GOOD, ...facts, overrules('ald-01', 'cold', 597));
    expect(text).toMatch(
      /Without that change: below the 70 % line\. 6 mite counts .* Without either: above the 70 % line\./,
    );
    expect(textOf(pageOf(store, [], { words: LANGUAGES.es }))).toContain('Sin lo uno ni lo otro: sobre');
  });

  it('are told without that sentence where neither change moves the answer', () => {
    // Negative control of the test above.
    const text = textAfter(SIX, correctsWash('ald-02', 4, 5), overrules('ald-01', 'cold', 597));
    expect(text).toContain('1 mite count was corrected');
    expect(text).not.toContain('Without either');
  });

  it('are told when one was withdrawn and entered again', () => {
    inventYards(store, [{ yard: 'alder-07', cups: GOOD }]);
    const { seq } = store.facts().find(({ fact }) => fact.type === 'cup-counted')!;
    record(store, AFTERWARDS, () => [
      withdraws('ald-01', seq, 590),
      counts('ald-01', 592, { tray: 9, wash: 2 }),
    ]);
    const text = textOf(pageOf(store, []));
    expect(text).toContain('1 mite count was corrected after it was first entered. As first entered: above');
  });

  it('are not told where no count of mites is another than at first', () => {
    // Negative control: nothing corrected, a number of bees, and a count that was corrected and then put back.
    const bees = { ...corrects('ald-01', 590, 300, 290), field: 'bees' } as Fact;
    const text = textAfter(GOOD, bees, correctsWash('ald-02', 1, 9), correctsWash('ald-02', 9, 1));
    expect(text).not.toContain('first entered');
    expect(text).toContain('above the 70 % line');
  });
});

describe('cool cups among what else a low result can be', () => {
  const list = (text: string) =>
    text.slice(text.indexOf('If the result is below'), text.indexOf('What this'));

  it('are named with their number, of the yards that are low or not clear', () => {
    const cool = SIX.map((cup, index) => (index < 2 ? { ...cup, celsius: () => 22 } : cup));
    const high = cupsWith(...Array.from({ length: 6 }, () => [12, 1] as const));
    const yards = [
      { yard: 'alder-07', cups: cool },
      { yard: 'elm-01', cups: high.map((cup) => ({ ...cup, celsius: () => 22 })) },
    ];
    const text = textOf(pageOf(store, yards));
    expect(text).toContain('Yard elm-01: above the 70 % line');
    expect(list(text)).toContain('2 of 6 cups were cool.');
    expect(list(textOf(pageOf(store, [], { words: LANGUAGES.es })))).not.toContain('cool');
  });

  it('are not named where none was cool', () => {
    const text = textOf(pageOf(store, [{ yard: 'alder-07', cups: SIX }]));
    expect(list(text)).toContain('Few mites: then chance plays a big part.');
    expect(text).not.toMatch(/\bcool\b/);
    expect(textOf(pageOf(store, [], { words: LANGUAGES.es }))).not.toContain('frescos');
  });
});

it('all of it is read at the ninth grade', () => {
  const [first, ...rest] = SIX;
  const cups = [
    { ...first, celsius: () => 10 },
    ...rest,
    ...SIX.map((cup) => ({ ...cup, celsius: () => 22 })),
  ];
  const text = textAfter(
    [...cups, UNREAD],
    overrules('ald-13', 'cold'),
    counts('ald-13', 591, { tray: 1, wash: 2 }),
    overrules('ald-02', 'cold', 592),
    correctsWash('ald-03', 1, 2),
  );
  expect(said(text)).toEqual([BOTH]);
  expect(text).toContain('mite count was corrected');
  expect(gradeOf(text)).toBeLessThan(9);
});
