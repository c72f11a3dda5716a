import { describe, expect, it } from 'vitest';
import { mergedFacts } from '../../src/store/chains.js';
import type { Fact } from '../../src/store/facts.js';
import { parseVisitId } from '../../src/units/ids.js';
import { looksAt } from '../../src/visit/looks.js';
import { foldSeason } from '../../src/visit/season.js';
import { counts, loads, minute, opens, recorded, turns, visit } from './situation.js';

/** What one vehicle enters: an opening at a minute, and so many cups after it, washed at another minute if at all. */
function vehicle(
  name: string,
  cups: number,
  declaredCups: number | null,
  { at = 0, washedAt = null, visit = 'v1' }: { at?: number; washedAt?: number | null; visit?: string } = {},
): Fact[] {
  const labels = Array.from({ length: cups }, (_, index) => `${name}${index}`);
  const of = { visit: parseVisitId(visit)! };
  return [
    { ...opens, ...of, declaredCups, at: minute(at) } as Fact,
    ...labels.map((cup) => ({ ...loads(cup, at + 1), ...of }) as Fact),
    ...labels.map((cup) => turns(cup, at + 181)),
    ...(washedAt === null ? [] : labels.map((cup) => counts(cup, washedAt, { tray: 3, wash: 2 }))),
  ];
}

/** Each chain's facts are recorded when they happen. */
function seasonOf(...chains: readonly Fact[][]) {
  const merged = mergedFacts(
    chains.map((facts, number) => ({
      store: `store-${number}`,
      number,
      facts: recorded(...facts).map((each) => ({ ...each, recorded: each.fact.at })),
    })),
  );
  return foldSeason(merged);
}
function looks(...chains: readonly Fact[][]) {
  const season = seasonOf(...chains);
  return looksAt(season, [...season.visits.values()])['alder-07'];
}

describe('looksAt()', () => {
  it('takes two vehicles of one visit, each with its own number, for one look', () => {
    expect(looks(vehicle('a', 6, 6), vehicle('b', 6, 6))).toBe(1);
    // Unlike numbers add up as well; neither is dropped.
    expect(looks(vehicle('a', 6, 6), vehicle('b', 4, 4))).toBe(1);
    expect(seasonOf(vehicle('a', 6, 6), vehicle('b', 4, 4)).visits.get(visit)).toMatchObject({
      declaredCups: 10,
      openings: [{ declaredCups: 6 }, { declaredCups: 4 }],
    });
  });

  it('finds cups beyond what both planned', () => {
    // Negative control of the test above: one cup more than 6 + 4.
    expect(looks(vehicle('a', 6, 6), vehicle('b', 5, 4))).toBe(2);
    expect(looks(vehicle('a', 7, 6))).toBe(2);
  });

  it('holds nobody to a number that was not told, and lets that not hide cups beyond the other number', () => {
    expect(looks(vehicle('a', 6, 6), vehicle('b', 9, null))).toBe(1);
    expect(looks(vehicle('a', 7, 6), vehicle('b', 9, null))).toBe(2);
    expect(looks(vehicle('a', 30, null))).toBe(1);
  });

  it('takes an opening after the first washes for a further look, whatever it declares', () => {
    const first = vehicle('a', 6, 6, { washedAt: 300 });
    expect(looks(first, vehicle('b', 6, 6, { at: 400 }))).toBe(2);
    // Before the washes no result was there to be looked at; trays alone are none.
    expect(looks(first, vehicle('b', 6, 6, { at: 290 }))).toBe(1);
    const trays = vehicle('a', 6, 6).concat(
      Array.from({ length: 6 }, (_, index) => counts(`a${index}`, 200, { tray: 3 })),
    );
    expect(looks(trays, vehicle('b', 6, 6, { at: 400 }))).toBe(1);
    // Who only opens it to enter counts adds no cup and takes no look.
    expect(looks(first, vehicle('b', 0, 6, { at: 400 }))).toBe(1);
  });

  it('takes another visit to the yard, pooled with one that had been washed, for a further look', () => {
    const first = vehicle('a', 6, 6, { washedAt: 300 });
    const second = vehicle('b', 6, 6, { at: 400, visit: 'v2', washedAt: 700 });
    expect(looks([...first, ...second])).toBe(2);
    const third = vehicle('c', 6, 6, { at: 800, visit: 'v3' });
    expect(looks([...first, ...second, ...third])).toBe(3);
    const sameDay = vehicle('b', 6, 6, { at: 200, visit: 'v2' });
    expect(looks([...first, ...sameDay])).toBe(1);
  });
});
