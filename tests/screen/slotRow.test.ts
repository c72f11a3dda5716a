import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { LiveState } from '../../src/exposure/live.js';
import { type Line, widthOf } from '../../src/screen/line.js';
import {
  coldText,
  ROW_WIDTH_MIN,
  rowLayout,
  slotHeading,
  slotLine,
  stateOf,
} from '../../src/screen/slotRow.js';
import { celsius } from '../../src/units/temperature.js';
import { durationMs } from '../../src/units/time.js';
import type { SlotView } from '../../src/visit/slots.js';
import { at, SEVEN } from './invented.js';
import { cupView, slotView } from './views.js';

const text = (line: Line) => line.map((span) => span.text).join('');
const STATES: readonly [Partial<LiveState>, string, string, string][] = [
  [{ word: 'warm' }, 'warm', '○', 'good'],
  [{ word: 'near cold' }, 'near cold', '▽', 'watch'],
  [{ word: 'cold' }, 'cold', '▼', 'alarm'],
  [{ word: 'near hot' }, 'near hot', '△', 'watch'],
  [{ word: 'hot' }, 'hot', '▲', 'alarm'],
  [{ word: 'no reading' }, 'no reading', '?', 'watch'],
  [{ word: 'not seated' }, 'not seated', '◇', 'watch'],
  [{ word: 'warm', ruledAlready: 'cold' }, 'ruled out', '×', 'quiet'],
];

describe('stateOf()', () => {
  it.each(STATES)('turns %j into the word %s and the shape %s', (state, word, shape, tone) => {
    const view = slotView({ cup: cupView({ state }) });
    expect(stateOf(view, view.cup!)).toEqual({ word, shape, tone });
  });

  it('has a shape of its own for every word, so that no colour is needed', () => {
    expect(new Set(STATES.map(([, , shape]) => shape)).size).toBe(STATES.length);
  });

  it('says that a slot with a cup has no probe', () => {
    const view = slotView({ rom: null, cup: cupView({ state: { word: 'not seated' } }) });
    expect(stateOf(view, view.cup!).word).toBe('no probe');
  });

  it('says that a cup is spoiled before all else', () => {
    const view = slotView({ cup: cupView({ state: { word: 'cold' }, spoiled: true }) });
    expect(stateOf(view, view.cup!).word).toBe('spoiled');
  });

  it('tells nothing of the ruling once the cup is turned: it is about to be counted', () => {
    const riding = slotView({ cup: cupView({ state: { ruledAlready: 'cold' } }) });
    expect(stateOf(riding, riding.cup!).word).toBe('ruled out');
    const turned = { ...riding.cup!, cup: { ...riding.cup!.cup, turn: at(180) } };
    expect(stateOf(riding, turned).word).toBe('warm');
  });
});

describe('slotLine() of a spoiled cup', () => {
  it('tells the temperature of its slot now, not what it was when its exposure ended', () => {
    const state = { latest: { celsius: celsius(12.3), age: durationMs(0) } };
    const told = (spoiled: boolean) => {
      const view = slotView({ cup: cupView({ state, spoiled }) });
      return text(slotLine(view, rowLayout(ROW_WIDTH_MIN, [view]), 'C', [], at(3)));
    };
    expect(told(true)).toContain('27.5°C');
    // Negative control: of a cup that rides it is that of the cup.
    expect(told(false)).toContain('12.3°C');
  });
});

describe('slotLine()', () => {
  const cold = {
    word: 'cold',
    latest: { celsius: celsius(-12.5), age: 0 as never },
    minutesToDue: -4,
    coldMinutes: { certain: 12.9, possible: 18.1 },
  } as const;
  it.each([
    ['a warm cup', slotView({ cup: cupView() }), ' 1 ○ 260512-01  27.5°C→ warm           59 min     0/10'],
    [
      'an overdue cup in frost',
      slotView({ slot: 16, cup: cupView({ state: cold }) }),
      '16 ▼ 260512-01 -12.5°C→ cold       late 4 min 12-19/10',
    ],
    [
      'a cup without a reading',
      slotView({ cup: cupView({ state: { word: 'no reading', latest: null } }) }),
      ' 1 ? 260512-01          no reading     59 min     0/10',
    ],
    [
      'a cup whose last reading is old: it says nothing of now',
      slotView({ cup: cupView({ state: { word: 'no reading' } }) }),
      ' 1 ? 260512-01          no reading     59 min     0/10',
    ],
    ['an empty slot', slotView({ cup: null }), ' 1 · empty      27.5°C→'],
    [
      'a slot without a probe',
      slotView({ cup: null, rom: null, latest: null }),
      ' 1 · empty              no probe',
    ],
    [
      'a long label, by its end',
      slotView({ cup: cupView({ cup: 'sedge-12.2026-05-12.cup-17' }) }),
      ' 1 ○ …2.cup-17  27.5°C→ warm           59 min     0/10',
    ],
  ])('shows %s', (_, view, expected) => {
    const steady = [0, 1, 2, 3].map((minute) => ({ at: at(minute), celsius: celsius(27.5) }));
    const line = text(slotLine(view, rowLayout(ROW_WIDTH_MIN, [view]), 'C', steady, at(3)));
    expect(line).toHaveLength(ROW_WIDTH_MIN);
    expect(line.trimEnd()).toBe(expected);
  });

  it('tells colony, trend, yard and the cold in words as there is room', () => {
    const view = slotView({ cup: cupView({ colony: 'c01' }) });
    const other = cupView({ cup: 'x' });
    const elsewhere = slotView({ cup: { ...other, visit: { ...other.visit, yard: 'alder-7' as never } } });
    const shown = (width: number, all: SlotView[] = [view]) =>
      text(slotLine(view, rowLayout(width, [view], all), 'C', [], at(3))).trimEnd();
    expect(shown(60)).toBe(' 1 ○ 260512-01 c01  27.5°C  warm           59 min     0/10');
    expect(shown(80)).toContain('260512-01 c01     27.5°C  ···············');
    expect(shown(80, [view, elsewhere])).toContain('260512-01 c01 sedge-12  27.5°C  ·');
    expect(shown(120)).toMatch(/·{30} warm .* at least 0, at most 0 of 10$/);
  });

  it('is exactly as wide as its heading and its layout, whatever it holds', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: ROW_WIDTH_MIN, max: 220 }),
        fc.array(
          fc.record({
            cup: fc.stringMatching(/^[A-Za-z0-9][A-Za-z0-9._-]{0,31}$/),
            colony: fc.option(fc.stringMatching(/^[a-z0-9]{1,30}$/)),
          }),
          { maxLength: 4 },
        ),
        fc.double({ min: -20, max: 60, noNaN: true }),
        fc.double({ min: -5000, max: 5000, noNaN: true }),
        fc.tuple(fc.nat(5000), fc.nat(5000)),
        (width, cups, degrees, minutesToDue, [certain, more]) => {
          const state = {
            latest: { celsius: celsius(degrees), age: 0 as never },
            minutesToDue,
            coldMinutes: { certain, possible: certain + more },
          };
          const views = [slotView(), ...cups.map((given) => slotView({ cup: cupView({ ...given, state }) }))];
          const layout = rowLayout(width, views);
          expect(widthOf(slotHeading('the-carrier-with-a-long-name-32', layout))).toBe(width);
          for (const view of views) {
            const line = slotLine(view, layout, 'F', [{ at: SEVEN, celsius: celsius(degrees) }], SEVEN);
            expect(widthOf(line)).toBe(width);
            if (view.cup !== null) expect(text(line)).toContain(stateOf(view, view.cup).word);
          }
        },
      ),
    );
  });
});

describe('coldText()', () => {
  it.each([
    [0, 0, '0/10', 'at least 0, at most 0 of 10'],
    [2.9, 4.1, '2-5/10', 'at least 2, at most 5 of 10'],
    [3, 3, '3/10', 'at least 3, at most 3 of 10'],
    [99.5, 180, '99+/10', 'at least 99, at most 180 of 10'],
  ])('rounds %d to %d min outwards: %s', (certain, possible, short, long) => {
    expect(coldText({ certain, possible }, 10, false)).toBe(short);
    expect(coldText({ certain, possible }, 10, true)).toBe(long);
  });
});
