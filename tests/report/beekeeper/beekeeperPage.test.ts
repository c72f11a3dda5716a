import { describe, expect, it } from 'vitest';
import { beekeeperPage } from '../../../src/report/beekeeper/beekeeperPage.js';
import { findingsOf } from '../../../src/report/beekeeper/findings.js';
import { MESSAGE_LENGTH_MAX, messagesOf } from '../../../src/report/beekeeper/message.js';
import { chainHeads } from '../../../src/report/chainHeads.js';
import { ENGLISH } from '../../../src/report/words/english.js';
import { LANGUAGES } from '../../../src/report/words/languages.js';
import type { Store } from '../../../src/store/store.js';
import { record } from '../../../src/visit/record.js';
import { eachInNewStore } from '../../visit/newStore.js';
import { label } from '../../visit/situation.js';
import { DIFFICULT } from '../difficultYards.js';
import { AFTERWARDS, cupsWith, inventYards, visitsIn } from '../inventedYards.js';
import { invented } from '../words/invented.js';
import { findingsFrom, pageOf, textOf } from './pageOf.js';
import { gradeOf, syllablesOf } from './readability.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

const GRADE_MAX = 9;
const SIX = cupsWith([5, 3], [2, 4], [8, 1], [3, 3], [6, 2], [4, 1]);

describe('beekeeperPage()', () => {
  it.each(Object.keys(DIFFICULT))('is read at the ninth grade, and its messages fit one each: %s', (name) => {
    const all = findingsFrom(store, DIFFICULT[name]!);
    const origin = { now: AFTERWARDS, version: '0.0.0', chains: chainHeads(store) };
    expect(gradeOf(textOf(beekeeperPage(ENGLISH, all, null, origin)))).toBeLessThan(GRADE_MAX);
    const messages = Object.values(LANGUAGES).flatMap((words) =>
      all.flatMap((each) => messagesOf(words, each)),
    );
    expect(Math.max(0, ...messages.map(({ length }) => length))).toBeLessThanOrEqual(MESSAGE_LENGTH_MAX);
    const parts = all.reduce((sum, { entries }) => sum + Math.max(1, entries.length), 0);
    expect(messages).toHaveLength(parts * Object.keys(LANGUAGES).length);
  });

  it('would be found out if it were written as documents for experts are', () => {
    const expert =
      'Pooled acaricidal efficacy was estimated by a clustered ratio estimator whose confidence interval accommodates heterogeneity between colonies. Exposures exceeding the permissible cumulative duration below the activation temperature were excluded, irrespective of the mortality subsequently observed in them.';
    expect(gradeOf(expert)).toBeGreaterThan(GRADE_MAX);
    // Counted by hand.
    expect(['mites', 'between', 'hive', 'counted', 'temperature', 'washed'].map(syllablesOf)).toEqual([
      1, 2, 1, 2, 4, 1,
    ]);
  });

  it('says what fell with its range, the best guess, and the side of the line', () => {
    // 28 of 42 mites; the range is the yard's own, rounded outwards.
    const text = textOf(pageOf(store, [{ yard: 'alder-07', cups: SIX }]));
    expect(text).toMatch(
      /not yet clear against the 70 % line\. Between 4\d and 8\d of 100 mites fell\. The best guess is 67\./,
    );
    expect(text).toMatch(/(?:About \d+|Even many) more cups (?:would most likely|may not) settle it/);
  });

  it('says how sure a range is, and that it is wider after two looks', () => {
    const cups = SIX.map((cup, index) => (index === 0 ? { ...cup, celsius: () => 10 } : cup));
    const text = textOf(
      pageOf(store, [
        { yard: 'alder-07', cups: SIX },
        { yard: 'elm-01', cups, declared: 5 },
      ]),
    );
    expect(text).toMatch(/Yard alder-07: .* In 95 of 100 such tests the true share lies in the range\./);
    // 1 - 0.05 / 2 = 0.975: Bonferroni, docs/statistics.md "Looking more than once".
    expect(text).toMatch(
      /Yard elm-01: .* For 2 looks .*: in 975 of 1000 such tests the true share lies in it\./,
    );
    expect(text).not.toMatch(/Yard alder-07: .*looks/);
    // Negative control: a page of the second yard alone promises nothing of 95.
    const { season, visits } = visitsIn(store);
    const [, elm] = visits.map((visit) => findingsOf(store, season, visit, AFTERWARDS, false));
    const origin = { now: AFTERWARDS, version: '0.0.0', chains: chainHeads(store) };
    expect(textOf(beekeeperPage(ENGLISH, [elm!], null, origin))).not.toContain('In 95 of 100 such tests');
  });

  it('tells the result with and without what was left out, and why that was', () => {
    const cups = [...SIX, ...cupsWith([0, 9], [1, 9]).map((cup) => ({ ...cup, celsius: () => 10 }))];
    const text = textOf(
      pageOf(store, [
        { yard: 'alder-07', cups },
        { yard: 'elm-01', cups: SIX },
      ]),
    );
    // Two yards of one level: said once, under the picture.
    expect(text.match(/In 95 of 100 such tests the true share lies in the range\./g)).toHaveLength(1);
    expect(text).toContain('2 cups got too cold for the strip to work (ald-07, ald-08)');
    expect(text).toMatch(/With the cups we left out: (?:below|not yet clear).*, between \d+ and \d+ of 100/);
    expect(text).toMatch(/^ *Yard elm-01: not yet clear/m);
    expect(text).not.toMatch(/^ *Yard elm-01: not yet clear.*left out/m);
  });

  const TEN = cupsWith([5, 3], [2, 4], [8, 1], [3, 3], [6, 2], [4, 1], [2, 2], [3, 1], [4, 4], [2, 3]);
  const FEW = cupsWith([0, 0], [1, 0], [0, 0], [0, 0], [2, 0], [0, 0]);
  it.each([
    ['cold', TEN.map((cup) => ({ ...cup, celsius: () => 10 }))],
    ['hot', TEN.map((cup) => ({ ...cup, celsius: () => 43 }))],
    ['short', TEN.map((cup) => ({ ...cup, turned: 120 }))],
    ['long', TEN.map((cup) => ({ ...cup, turned: 240 }))],
    ['unproven', TEN.map((cup) => ({ ...cup, silent: [60, 120] as const }))],
    ['unread', TEN.map((cup) => ({ ...cup, wash: null }))],
    ['cups', TEN.slice(0, 3)],
    ['mites', FEW],
    ['hives', TEN.map((cup) => ({ ...cup, colony: 'c1' }))],
  ] as const)('tells what to do where there was too little to judge by: %s', (lack, cups) => {
    const text = textOf(pageOf(store, [{ yard: 'alder-07', cups }], { isFinal: true }));
    expect(text).toContain('too few cups or mites to judge');
    const said = Object.entries(ENGLISH.again.lacks).filter(([, sentence]) => text.includes(sentence));
    expect(said.map(([name]) => name)).toEqual([lack]);
    expect(text).not.toContain('warm cups');
  });

  it('tells each cause its own sentence, and none where there was enough', () => {
    // Three of ten cups were cold and five never washed: nobody knows whether mites were few.
    const cups = TEN.map((cup, index) =>
      index < 3 ? { ...cup, celsius: () => 10 } : index < 8 ? { ...cup, wash: null } : cup,
    );
    const text = textOf(pageOf(store, [{ yard: 'alder-07', cups }], { isFinal: true }));
    const { cold, unread, mites } = ENGLISH.again.lacks;
    expect([cold, unread, mites].map((sentence) => text.includes(sentence))).toEqual([true, true, false]);
    // Negative control: three cold cups beside seven that count are no lack.
    const enough = TEN.map((cup, index) => (index < 3 ? { ...cup, celsius: () => 10 } : cup));
    const other = textOf(pageOf(store, [{ yard: 'elm-01', cups: enough }], { isFinal: true }));
    const elm = other.slice(other.indexOf('When to test again'));
    expect(findingsFrom(store, [], true)[1]!.lacks).toEqual([]);
    expect(elm).toContain(ENGLISH.again.moreCups);
  });

  it('says when a person changed what counts after the mites were known', () => {
    inventYards(store, [{ yard: 'alder-07', cups: SIX }]);
    const why = store.keepText('looked wrong');
    record(store, AFTERWARDS, () => [
      { type: 'cup-overruled', cup: label('ald-01'), ruling: 'spoiled', why, at: AFTERWARDS },
    ]);
    const text = textOf(pageOf(store, []));
    expect(text).toContain('1 cup was set aside by a person (ald-01)');
    expect(text).toContain('A person changed what counts after the mites were known. Without that change: ');
  });

  it('gives only the trays, and no ruling and no result, while a wash is to come', () => {
    const cups = SIX.map((cup, index) => ({ ...cup, wash: index === 0 ? 3 : null, celsius: () => 10 }));
    const text = textOf(pageOf(store, [{ yard: 'alder-07', cups }]));
    expect(text).toContain('1 of 6 cups are done');
    expect(text.match(/^ *ald-0\d c\d \d wash/gm)).toHaveLength(5);
    for (const word of ['cold', 'of 100 mites fell', 'best guess', 'on 100 bees'])
      expect(text).not.toContain(word);
  });

  it.each([
    ['the test is still running', { turned: null }, 'The bees', 'Today only the mites on the trays'],
    [
      'the trays are still to be counted',
      { tray: null, wash: null },
      'Not all mites on the trays',
      'Today only',
    ],
    ['the wash is still to come', { wash: null }, 'Today only the mites on the trays', 'Not all mites'],
  ] as const)('says of a visit that is not finished: %s', (step, last, _said, untold) => {
    const page = pageOf(store, [
      { yard: 'alder-07', cups: [...SIX.map((cup) => ({ ...cup, wash: null })), { ...SIX[0], ...last }] },
    ]);
    const text = textOf(page);
    expect(text).toContain(`Not finished: ${step}`);
    expect(text).toContain('Your strip test: not finished yet');
    expect(text).not.toContain('what we found');
    expect(text).not.toContain(untold);
    expect(text).toMatch(new RegExp(`Yard alder-07: .*${step}\\. No result before that`));
    // Negative control: a page that has an answer is called by it.
    expect(textOf(pageOf(store, [], { isFinal: true }))).toContain('Your strip test: what we found');
  });

  it('names the lot among what else a result below the line can be, and the store of its record', () => {
    const poor = cupsWith([1, 9], [0, 9], [1, 8], [2, 9], [0, 7]);
    const text = textOf(pageOf(store, [{ yard: 'alder-07', cups: poor }]));
    expect(text).toContain('the whole lot (L7) is weak');
    expect(text).toContain(
      `Record ${store.chains()[0]!.store}: ${store.head().count} facts, head ${store.head().hash}`,
    );
    // Negative control: a lot that nobody wrote down is not named.
    const unnamed = findingsFrom(store, [
      { yard: 'elm-01', cups: poor.map((cup) => ({ ...cup, lot: null })) },
    ]);
    const origin = { now: AFTERWARDS, version: '0.0.0', chains: chainHeads(store) };
    expect(textOf(beekeeperPage(ENGLISH, [unnamed[1]!], null, origin))).toContain('or the whole lot is weak');
  });

  it('gives the answer without them when no wash is to come', () => {
    // Negative control of the test above.
    const cups = SIX.map((cup, index) => ({ ...cup, wash: index === 0 ? null : cup.wash! }));
    const text = textOf(pageOf(store, [{ yard: 'alder-07', cups }], { isFinal: true }));
    expect(text).toContain('1 cup was not fully counted (ald-01)');
    expect(text).toContain('of 100 mites fell');
  });

  it('shows a level only when the beekeeper gave one, with its source and date', () => {
    const yards = [{ yard: 'alder-07', cups: SIX }];
    expect(pageOf(store, yards)).not.toContain('your own level');
    const action = { per100: 2, source: 'leaflet 12', date: 'March 2026' };
    expect(pageOf(store, [], { action })).toContain('your own level, 2 on 100 bees (leaflet 12, March 2026)');
  });

  it('puts the label and an adviser first, and advises no treatment', () => {
    const text = textOf(
      pageOf(store, [{ yard: 'alder-07', cups: cupsWith([1, 9], [0, 9], [1, 8], [2, 9], [0, 7]) }]),
    );
    expect(text).toContain('below the 70 % line');
    expect(text).toContain('The label of the product comes first');
    expect(text).toContain('does not tell you to treat, or not to treat');
    expect(text).toContain('A cup is not a hive');
    expect(text).toContain('Strips are in these hives now');
    expect(text).not.toMatch(/\b(?:you (?:should|must)|we (?:advise|recommend)|treat now|resistant)\b/i);
  });

  it('tells arms of long names apart in the picture too', () => {
    const page = pageOf(store, DIFFICULT['long labels']!);
    const labels = [...page.matchAll(/text-anchor="end">([^<]*…[^<]*)</g)].map(([, label]) => label);
    expect(labels.length).toBeGreaterThan(6);
    expect(new Set(labels).size).toBe(labels.length);
  });

  it('escapes what people typed', () => {
    const page = pageOf(store, DIFFICULT['long labels']!);
    expect(page).not.toContain('<b>"Queen');
    expect(page).toContain('&lt;b&gt;&quot;Queen');
  });

  it('speaks another language, with its decimal comma, from one file of words', () => {
    const cups = [...SIX, ...cupsWith([3, 4])];
    const page = pageOf(store, [{ yard: 'alder-07', cups }], { words: invented(ENGLISH, 'de-DE') });
    const words = textOf(page)
      .replaceAll('alder-07', '')
      .match(/[A-Za-z]{3,}/g)!;
    // As people typed them: the active, the rule set, labels. The word lot is the program's own.
    const facts = /^(?:amitraz|strip|stillwarm|default|ald|May|Mai)$/;
    // Every word of the invented language begins with x; hexadecimal of the chain is none.
    const untold = (given: readonly string[]) =>
      given.filter((word) => !word.startsWith('x') && !facts.test(word) && !/^[a-f]+$/.test(word));
    expect(untold(words)).toEqual([]);
    // Negative control: a word that is put in beside the catalogue is found.
    expect(untold([...words, 'lot'])).toEqual(['lot']);
    expect(page).toMatch(/>2,3<\/text>/);
    expect(pageOf(store, [])).toMatch(/>2\.3<\/text>/);
  });
});

/** Words of a page, its pictures' and their texts for the blind too, without what people typed. */
const wordsOf = (page: string, typed: RegExp): Set<string> =>
  new Set(
    page
      .replace(/<style>[\s\S]*?<\/style>|<meta[^>]*>|\b[0-9a-f-]{16,}\b/g, '')
      .replace(/aria-label="([^"]*)"/g, '>$1<')
      .replace(/<[^>]*>/g, ' ')
      .replace(typed, ' ')
      .toLowerCase()
      .match(/\p{Letter}{2,}/gu),
  );

describe('the Spanish page', () => {
  const TYPED = /amitraz strip|stillwarm|default|alder|clover|sedge|[a-z]{3}-\d\d|Etc\/UTC|<b>.*?<\/i>/g;
  /** Words that both languages write alike. */
  const ALIKE = new Set(['no', 'me', 'de', 'so', 'once', 'son', 'un', 'te', 'sin', 'error', 'sensor']);

  it.each(['three yards', 'provisional', 'all ruled out', 'no strip', 'no mites', 'one cup'])(
    'has no English word: %s',
    (name) => {
      const action = { per100: 2, source: '2026', date: '2026' };
      const yards = DIFFICULT[name]!.map((yard) => ({
        ...yard,
        cups: yard.cups.map((cup, index) => ({ ...cup, lot: index % 2 ? 'L7' : 'L8' })),
      }));
      const english = wordsOf(pageOf(store, yards, { action }), TYPED);
      const page = pageOf(store, [], { action, words: LANGUAGES.es });
      const both = (other: Set<string>) => [...english].filter((word) => other.has(word) && !ALIKE.has(word));
      expect(both(wordsOf(page, TYPED))).toEqual([]);
      // Negative control: one English word on it is found.
      expect(both(wordsOf(page.replace(/lote|Registro/, 'lot'), TYPED))).toEqual(
        english.has('lot') ? ['lot'] : [],
      );
      expect([...english].length).toBeGreaterThan(60);
    },
  );
});

describe('messagesOf()', () => {
  it('shortens a long arm and keeps the answer', () => {
    const [long] = DIFFICULT['long labels']!;
    const [, message] = findingsFrom(store, [{ yard: 'alder-07', cups: long!.cups }]).flatMap((each) =>
      messagesOf(ENGLISH, each),
    );
    expect(message!.length).toBeGreaterThan(MESSAGE_LENGTH_MAX - 3);
    // It begins with the active and ends with the end of the lot.
    expect(message).toMatch(/, ami[a-z ,]*\.\.\.\S.*label first\.$/);
  });
});
