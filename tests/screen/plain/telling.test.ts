import { describe, expect, it } from 'vitest';
import { NOTHING_TOLD, PAUSE, type Statement, type Told, tell } from '../../../src/screen/plain/telling.js';
import { later, seconds, type UtcMs } from '../../../src/units/time.js';
import { SEVEN } from '../invented.js';

const so = (state: string, more: Partial<Statement> = {}): Statement => ({
  id: 'it',
  state,
  sentence: `It is ${state}.`,
  ...more,
});
const second = (number: number): UtcMs => later(SEVEN, seconds(number));

/** What is said at each look; a look is the second it happens at, and what is so then. */
function said(...looks: readonly (readonly [number, ...Statement[]])[]): string[][] {
  let told: Told = NOTHING_TOLD;
  return looks.map(([at, ...statements]) => {
    const news = tell(told, statements, second(at));
    told = news.told;
    return [...news.sentences];
  });
}

const URGENT = { isUrgent: true } as const;
const OVER = { over: 'It is over.' };

// How long a pause is: src/screen/plain/telling.ts, a choice (60 s); all other values follow from the rules told there.
describe('tell()', () => {
  it.each<[string, readonly (readonly [number, ...Statement[]])[], string[][]]>([
    ['says what is so at first', [[0, so('cold')]], [['It is cold.']]],
    [
      'says nothing twice',
      [
        [0, so('cold')],
        [1, so('cold')],
        [90, so('cold')],
      ],
      [['It is cold.'], [], []],
    ],
    [
      'says a change once the pause is over, if it is still so',
      [
        [0, so('cold')],
        [59, so('warm')],
        [60, so('warm')],
        [61, so('warm')],
      ],
      [['It is cold.'], [], ['It is warm.'], []],
    ],
    [
      'says nothing of what was so for a moment only',
      [
        [0, so('cold')],
        [20, so('warm')],
        [30, so('cold')],
        [90, so('cold')],
      ],
      [['It is cold.'], [], [], []],
    ],
    [
      'says at once what is urgent, and the same again after a pause only',
      [
        [0, so('a', URGENT)],
        [1, so('b', URGENT)],
        [2, so('a', URGENT)],
        [3, so('b', URGENT)],
      ],
      [['It is a.'], ['It is b.'], [], []],
    ],
    [
      'says in the end what stays, also of what goes to and fro',
      [
        [0, so('a', URGENT)],
        [1, so('b', URGENT)],
        [2, so('a', URGENT)],
        [62, so('a', URGENT)],
      ],
      [['It is a.'], ['It is b.'], [], ['It is a.']],
    ],
    [
      'leaves out that all is well until something was not',
      [
        [0, so('well', { silent: 'at first' })],
        [1, so('ill')],
        [70, so('well', { silent: 'at first' })],
      ],
      [[], ['It is ill.'], ['It is well.']],
    ],
    [
      'takes as said what another sentence says',
      [
        [0, so('warm')],
        [90, so('cold', { silent: 'now' })],
        [95, so('cold')],
      ],
      [['It is warm.'], [], []],
    ],
    [
      'says that something is over once it has stayed away',
      [[0, so('lost', OVER)], [59, so('lost', OVER)], [118], [119], [120]],
      [['It is lost.'], [], [], ['It is over.'], []],
    ],
    [
      'takes for the same what comes back soon',
      [[0, so('lost', OVER)], [30], [50, so('lost', OVER)], [109], [110]],
      [['It is lost.'], [], [], [], ['It is over.']],
    ],
    [
      'forgets at once what has no end to tell',
      [[0, so('due')], [1], [2, so('due')]],
      [['It is due.'], [], ['It is due.']],
    ],
    [
      'makes nobody wait for a clock that was set back',
      [
        [3600, so('cold')],
        [0, so('warm')],
      ],
      [['It is cold.'], ['It is warm.']],
    ],
  ])('%s', (_name, looks, sentences) => {
    expect(said(...looks)).toEqual(sentences);
  });

  it('keeps things apart by what they are about, in the order they are told in', () => {
    const looks = said([0, so('cold'), so('cold', { id: 'other', sentence: 'The other, too.' })]);
    expect(looks).toEqual([['It is cold.', 'The other, too.']]);
  });

  it('would say the same at every look if it remembered nothing', () => {
    const news = () => tell(NOTHING_TOLD, [so('cold')], second(0)).sentences;
    expect([news(), news()]).toEqual([['It is cold.'], ['It is cold.']]);
    expect(PAUSE).toBe(60_000);
  });
});
