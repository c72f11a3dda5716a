import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { changedRuling, correctedCounts, countsAsFirstEntered } from '../../src/visit/changedByPeople.js';
import { foldSeason } from '../../src/visit/season.js';
import {
  corrects,
  counts,
  label,
  minute,
  overrules,
  recorded,
  rewashes,
  spoils,
  TURNED,
  withdraws,
} from './situation.js';

const BOTH_READ = counts('c1', 190, { tray: 7, wash: 3, bees: 300 });
const seasonOf = (...facts: Fact[]) => foldSeason(recorded(...TURNED, ...facts));
const cupOf = (...facts: Fact[]) => seasonOf(...facts).cups.get(label('c1'))!;

describe('countsAsFirstEntered(), correctedCounts()', () => {
  const second = { ...corrects('c1', 220, 2, 4), field: 'wash', washNumber: 2 } as Fact;
  it.each<[string, Fact[], { tray: number | null; wash: number | null }, number]>([
    ['nothing read', [], { tray: null, wash: null }, 0],
    ['read once', [BOTH_READ], { tray: 7, wash: 3 }, 0],
    [
      'read one after the other',
      [counts('c1', 190, { tray: 7 }), counts('c1', 200, { wash: 3 })],
      { tray: 7, wash: 3 },
      0,
    ],
    ['a tray corrected', [BOTH_READ, corrects('c1', 210, 7, 5)], { tray: 7, wash: 3 }, 1],
    [
      'corrected twice',
      [BOTH_READ, corrects('c1', 210, 7, 5), corrects('c1', 220, 5, 6)],
      { tray: 7, wash: 3 },
      1,
    ],
    [
      'corrected and put back',
      [BOTH_READ, corrects('c1', 210, 7, 5), corrects('c1', 220, 5, 7)],
      { tray: 7, wash: 3 },
      0,
    ],
    ['washed again', [BOTH_READ, rewashes('c1', 210, 2)], { tray: 7, wash: 5 }, 0],
    ['the second wash corrected', [BOTH_READ, rewashes('c1', 210, 2), second], { tray: 7, wash: 5 }, 1],
    ['withdrawn', [BOTH_READ, withdraws('c1', 6)], { tray: 7, wash: 3 }, 2],
    [
      'withdrawn and read again',
      [BOTH_READ, withdraws('c1', 6), counts('c1', 410, { tray: 7, wash: 4 })],
      { tray: 7, wash: 3 },
      1,
    ],
    [
      'a correction withdrawn',
      [BOTH_READ, corrects('c1', 210, 7, 5), withdraws('c1', 7)],
      { tray: 7, wash: 3 },
      0,
    ],
    [
      'a wash again withdrawn',
      [BOTH_READ, rewashes('c1', 210, 2), withdraws('c1', 7)],
      { tray: 7, wash: 5 },
      1,
    ],
  ])('%s', (_what, facts, first, corrected) => {
    const cup = cupOf(...facts);
    expect(countsAsFirstEntered(cup)).toMatchObject(first);
    expect(correctedCounts(cup)).toBe(corrected);
  });
});

describe('changedRuling()', () => {
  it.each<[string, Fact[], { before: boolean; after: boolean }]>([
    ['nothing', [BOTH_READ], { before: false, after: false }],
    ['overruled before', [overrules(185), BOTH_READ], { before: true, after: false }],
    [
      'overruled when the tray was known',
      [counts('c1', 190, { tray: 7 }), overrules(195)],
      { before: false, after: true },
    ],
    [
      'overruled before and again after',
      [overrules(185), BOTH_READ, overrules(195)],
      { before: false, after: true },
    ],
    [
      'overruled before, spoiled after',
      [overrules(185), BOTH_READ, spoils('c1', 195)],
      { before: true, after: true },
    ],
    ['spoiled before', [spoils('c1', 185), BOTH_READ], { before: false, after: false }],
  ])('%s', (_what, facts, changed) => {
    const season = seasonOf(...facts);
    expect(changedRuling(season, season.cups.get(label('c1'))!, minute(600))).toEqual(changed);
  });
});
