import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { beforeEach, describe, expect, it } from 'vitest';
import { writeBundle } from '../../src/bundle/write.js';
import { materialOf } from '../../src/report/lab/material.js';
import type { Fact } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import { exposureEnd } from '../../src/visit/cup.js';
import { record } from '../../src/visit/record.js';
import { visitResult } from '../../src/visit/result.js';
import { foldSeason } from '../../src/visit/season.js';
import { eachInNewStore } from './newStore.js';
import {
  assigns,
  inventedRom,
  label,
  lifts,
  loads,
  minute,
  moves,
  opens,
  reads,
  seats,
  spoils,
  turns,
  visit,
} from './situation.js';

/** Four cups loaded at minute 1: spoiled and left where it was, replaced, spoiled and moved on, spoiled and yet turned. */
const FACTS: readonly Fact[] = [
  opens,
  ...[1, 2, 3, 4, 5].map((slot) => assigns(slot, inventedRom(slot))),
  ...[1, 2, 3, 4].flatMap((slot) => [loads(`c${slot}`, 1), seats(`c${slot}`, slot, 1)]),
  spoils('c1', 31),
  lifts('c2', 21),
  { ...spoils('c2', 21), replacedBy: label('c9') } as Fact,
  loads('c9', 21),
  spoils('c3', 41),
  moves('c3', 5, 50),
  spoils('c4', 31),
  turns('c4', 241),
];
/** Warm until minute 60, then far too cold: what comes after the end of an exposure must not be of it. */
const celsius = (at: number) => (at <= 60 ? 30 : 5);

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});
beforeEach(() => {
  record(store, minute(600), () => FACTS);
  const rows = [1, 2, 3, 4, 5].flatMap((slot) =>
    Array.from({ length: 500 }, (_, at) =>
      reads(inventedRom(slot), at, minute(at), celsius(at) * 16, { slotIndex: slot - 1 }),
    ),
  );
  store.transaction(() => store.addReadings(rows));
});

const season = () => foldSeason(store.facts());
const rulingsAt = (now: number) => {
  const known = season();
  return visitResult(store, known, [known.visits.get(visit)!], minute(now)).rulings;
};

describe('a cup that was spoiled before its turn', () => {
  it('is ruled on until it was spoiled, however late it is looked at', () => {
    const rulings = rulingsAt(460);
    // From minute 1 to when each was spoiled; the last was turned: plain arithmetic.
    expect(rulings.map(({ cup, exposureMinutes }) => [cup, exposureMinutes])).toEqual([
      ['c1', 30],
      ['c2', 20],
      ['c3', 40],
      ['c4', 240],
    ]);
    for (const { ruling, reasons } of rulings.slice(0, 3)) {
      expect(ruling).toBe('spoiled');
      expect(reasons.join()).not.toMatch(/long|cold/);
    }
    expect(rulingsAt(240).slice(0, 3)).toEqual(rulings.slice(0, 3));
  });

  it('is ruled on until its turn when it was turned all the same', () => {
    // Negative control of the test above: the end is that of the exposure, not just any mark.
    const { ruling, reasons } = rulingsAt(460)[3]!;
    expect(ruling).toBe('spoiled');
    expect(reasons[1]).toMatch(/^long: exposed for 240 min/);
    expect(reasons[2]).toMatch(/^cold: /);
  });

  it('is told alike by the result, the lab report and the bundle', async () => {
    const known = season();
    const now = minute(460);
    const told = (rulings: readonly { cup: string; exposureMinutes: number; reasons: readonly string[] }[]) =>
      rulings.map(({ cup, exposureMinutes, reasons }) => [cup, exposureMinutes, reasons.length]);
    const result = told(rulingsAt(460));
    const lab = materialOf(store, known, known.visits.get(visit)!, now, '0.0.0', true);
    expect(told(lab.cups.flatMap(({ ruling }) => ruling ?? []))).toEqual(result);
    for (const { cup, exposure } of lab.cups) expect(exposure.turn).toBe(exposureEnd(cup) ?? now);
    const folder = mkdtempSync(join(tmpdir(), 'stillwarm-spoiled-'));
    try {
      const out = join(folder, 'bundle');
      const options = { withPeople: false, isPublic: false, asParquet: false };
      await writeBundle(store, { visits: [visit], out, ...options, writtenBy: '0.0.0', now });
      const rows = parse(readFileSync(join(out, 'rulings.csv'), 'utf8'), { columns: true }) as Record<
        string,
        string
      >[];
      expect(
        rows.map((row) => [row['cup'], Number(row['exposure_min']), row['reasons']!.split(' | ').length]),
      ).toEqual(result);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
