import { describe, expect, it } from 'vitest';
import { seasonReport } from '../../shared/index.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { Store } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { visitResult } from '../../src/visit/result.js';
import { seasonOf } from '../../src/visit/season.js';
import { seasonResult } from '../../src/visit/seasonResult.js';
import { addVisit, counted } from './inventedSeason.js';
import { eachInNewStore } from './newStore.js';

let store: Store;
eachInNewStore((each) => {
  store = each;
});
const NOW = utcMs(Date.UTC(2026, 11, 1));
const result = () => {
  const season = seasonOf(store);
  return seasonResult(store, season, [...season.visits.values()], NOW);
};
const GOOD = [
  [9, 1],
  [8, 2],
  [7, 1],
  [10, 1],
  [6, 2],
] as const;
const POOR = [
  [3, 7],
  [4, 5],
  [2, 6],
  [5, 6],
  [3, 4],
] as const;
const MIDDLING = [
  [7, 3],
  [6, 3],
  [5, 2],
  [8, 4],
  [6, 3],
] as const;

describe('seasonResult()', () => {
  it('takes yards together as their visits judge them alone', () => {
    addVisit(store, 1, 'alder', counted(GOOD));
    addVisit(store, 2, 'birch', counted(POOR));
    addVisit(store, 3, 'cedar', counted(MIDDLING));
    const season = seasonOf(store);
    const alone = [...season.visits.values()].flatMap(
      (visit) => visitResult(store, season, [visit], NOW).efficacy.yards,
    );
    const { yards, arms, line } = result();
    expect(yards.map(({ entry }) => entry)).toEqual(alone);
    // 40 of 47, 17 of 45, 32 of 47: the sums of the counts above
    expect(alone.map(({ tray, wash }) => [tray, tray + wash])).toEqual([
      [40, 47],
      [17, 45],
      [32, 47],
    ]);
    expect(arms).toEqual(seasonReport(alone, { line }));
    expect(arms[0]!.shareOfYardsBelowLine).not.toBeNull();
    expect(arms[0]!.predictionForNextYard).not.toBeNull();
  });

  it('puts each strip cup in one place, and says how warm the lost ones were', () => {
    addVisit(store, 1, 'alder', [
      ...counted(GOOD),
      { tray: 4, wash: 4, isCold: true },
      { tray: 3, wash: null },
      { tray: 0, wash: 0 },
      { tray: 1, wash: 9, kind: 'no-strip' },
    ]);
    const { flow, lost, yards } = result();
    expect(flow).toMatchObject({
      planned: 9,
      loaded: 8,
      replaced: 0,
      unread: 1,
      miteFree: 1,
      used: 5,
      withoutStrip: 1,
    });
    expect(flow.ruledOut.cold).toBe(1);
    const out = Object.values(flow.ruledOut).reduce((sum, each) => sum + each, 0);
    expect(flow.loaded).toBe(flow.replaced + out + flow.unread + flow.miteFree + flow.used);
    // 12 and 27 degC: the cold cup's readings
    expect(lost).toMatchObject([{ why: 'cold', cups: 1, minCelsius: 12, maxCelsius: 27 }]);
    expect(yards[0]!.flow).toMatchObject({ loaded: 8, used: 5 });
  });

  it('counts lost cups by who loaded them, although each name is kept under its own salt', () => {
    addVisit(store, 1, 'alder', [
      ...counted(GOOD, { by: 'Ada' }),
      { tray: 1, wash: 1, isCold: true, by: 'Bo' },
      { tray: null, wash: null, by: 'Bo' },
      { tray: 1, wash: 1 },
    ]);
    expect(result().operators).toEqual([
      { name: 'Ada', unnamed: null, loaded: 5, lost: 0, unread: 0 },
      { name: 'Bo', unnamed: null, loaded: 2, lost: 1, unread: 1 },
      { name: null, unnamed: 'none-given', loaded: 1, lost: 0, unread: 0 },
    ]);
  });

  it('suspects a lot that is low in every yard when another is not, and no other lot', () => {
    addVisit(store, 1, 'alder', [...counted(GOOD, { lot: 'L1' }), ...counted(POOR, { lot: 'L2' })]);
    addVisit(store, 2, 'birch', [...counted(GOOD, { lot: 'L1' }), ...counted(POOR, { lot: 'L2' })]);
    const [first, second] = result().lots;
    expect(first).toMatchObject({ lot: 'L1', yards: 2, yardsBelow: 0, suspicion: null });
    expect(second).toMatchObject({ lot: 'L2', yards: 2, yardsBelow: 2, yardsDecidedBelow: 2, loaded: 10 });
    expect(second!.suspicion).toMatch(
      /^lot L2 is below the line in all 2 yards, by their verdicts; of the estimates of other lots 0 of 2 are: suspect the lot/,
    );
  });

  it('calls a suspicion of a lot undecided that rests on estimates alone, and clears it where all are low', () => {
    // 32 of 47 mites are 68 %: below the line by the estimate, not by the range.
    addVisit(store, 1, 'alder', [...counted(GOOD, { lot: 'L1' }), ...counted(MIDDLING, { lot: 'L2' })]);
    addVisit(store, 2, 'birch', [...counted(GOOD, { lot: 'L1' }), ...counted(MIDDLING, { lot: 'L2' })]);
    const [, second] = result().lots;
    expect(second).toMatchObject({ yardsBelow: 2, yardsDecidedBelow: 0 });
    // Two fair coins: 1 in 4, plain arithmetic.
    expect(second!.suspicion).toMatch(
      /^undecided: lot L2 has .* a verdict below it in 0 only; .*1 time in 4; .*may be/,
    );
    addVisit(store, 3, 'cedar', [...counted(POOR, { lot: 'L3' }), ...counted(POOR, { lot: 'L4' })]);
    addVisit(store, 4, 'dogwood', [...counted(POOR, { lot: 'L3' }), ...counted(POOR, { lot: 'L4' })]);
    const lots = seasonResult(
      store,
      seasonOf(store),
      [...seasonOf(store).visits.values()].filter(({ visit }) => visit === 'v3' || visit === 'v4'),
      NOW,
    ).lots;
    for (const { suspicion } of lots)
      expect(suspicion).toMatch(
        /by their verdicts; so are all 2 estimates of other lots, which clears this one$/,
      );
    expect(lots).toHaveLength(2);
  });

  it('does not suspect a lot that is low in one yard only, and cannot tell a single lot from the mites', () => {
    addVisit(store, 1, 'alder', counted(POOR));
    expect(result().lots[0]!.suspicion).toBeNull();
    addVisit(store, 2, 'birch', counted(POOR));
    expect(result().lots[0]!.suspicion).toMatch(/no other lot was tested: the lot .* cannot be told apart/);
    addVisit(store, 3, 'cedar', counted(GOOD));
    expect(result().lots[0]!.suspicion).toBeNull();
  });

  it('pools cups without strip over all yards, clustered by yard', () => {
    addVisit(store, 1, 'alder', [
      ...counted(GOOD),
      ...counted(
        [
          [1, 19],
          [0, 20],
        ],
        { kind: 'no-strip' },
      ),
    ]);
    addVisit(store, 2, 'birch', [...counted(POOR), ...counted([[3, 17]], { kind: 'no-strip' })]);
    // Ruled out, so it tells nothing of what falls by itself: a cold cup without strip.
    addVisit(store, 3, 'cedar', [...counted(GOOD), { tray: 9, wash: 1, isCold: true, kind: 'no-strip' }]);
    const found = result().withoutStrip!;
    // 1 + 0 + 3 of 20 + 20 + 20 mites
    expect(found).toMatchObject({ cups: 3, yards: 2, tray: 4, mites: 60, fall: 4 / 60 });
    expect(found.interval).not.toBeNull();
  });

  it('lets no yard count twice', () => {
    addVisit(store, 1, 'alder', counted(GOOD));
    addVisit(store, 2, 'alder', counted(POOR));
    const { yards, arms, remarks } = result();
    expect(yards).toHaveLength(1);
    expect(yards[0]).toMatchObject({ visits: ['v1', 'v2'], entry: { tray: 57, wash: 35 } });
    expect(arms[0]!.yards).toBe(1);
    expect(remarks).toEqual(['yard alder: 2 visits pooled, so that no yard counts twice']);
  });

  it('pools no visits of different rule sets, and refuses different lines', () => {
    addVisit(store, 1, 'alder', counted(GOOD));
    addVisit(store, 2, 'alder', counted(POOR), { ...DEFAULT_RULES, name: 'other', coldTotalMinutes: 20 });
    const { yards, remarks } = result();
    expect(yards[0]).toMatchObject({ visits: ['v2'], entry: { tray: 17 } });
    expect(remarks).toEqual(['yard alder: visits judged by different rule sets are not pooled; v1 left out']);
    addVisit(store, 3, 'birch', counted(GOOD), { ...DEFAULT_RULES, name: 'strict', line: 0.9 });
    expect(result).toThrow(/Visits v1 and v3 are judged by different lines/);
  });

  it('refuses a season without a visit', () => {
    expect(result).toThrow(/There is no visit to take into a season yet/);
  });
});
