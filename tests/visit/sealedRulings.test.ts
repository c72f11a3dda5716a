import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { judgeExposure } from '../../src/exposure/judge.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { encodeBlock, openBlock } from '../../src/store/block.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import type { RomId } from '../../src/units/ids.js';
import { Refusal } from '../../src/units/refusal.js';
import { boardMs, utcMs } from '../../src/units/time.js';
import type { Cup } from '../../src/visit/cup.js';
import { exposureOf, observations } from '../../src/visit/exposures.js';
import { record } from '../../src/visit/record.js';
import { ruleOn } from '../../src/visit/ruling.js';
import { foldSeason, type Season } from '../../src/visit/season.js';
import type { Fresh } from '../store/invented.js';
import {
  assigns,
  iceChecks,
  label,
  loads,
  moves,
  OPENED,
  opens,
  otherRom,
  reads,
  rom,
  seats,
  turns,
} from './situation.js';

const folder = mkdtempSync(join(tmpdir(), 'stillwarm-sealed-rulings-'));
afterAll(() => rmSync(folder, { recursive: true }));
const LATEST = utcMs(OPENED + 1000 * 60_000);

/** One probe's morning: a temperature that wanders, scans that fail, a conflict now and then, a part that comes late. */
const probeDay = (probe: RomId, slotIndex: number): fc.Arbitrary<{ now: Fresh[]; late: Fresh[] }> =>
  fc
    .record({
      start: fc.integer({ min: 180, max: 700 }),
      steps: fc.array(fc.integer({ min: -3, max: 3 }), { minLength: 40, maxLength: 60 }),
      jitter: fc.integer({ min: 0, max: 900 }),
      failed: fc.array(fc.integer({ min: 0, max: 550 }), { maxLength: 40 }),
      hole: fc.integer({ min: 0, max: 550 }),
      late: fc.integer({ min: 0, max: 550 }),
      conflict: fc.boolean(),
    })
    .map(({ start, steps, jitter, failed, hole, late, conflict }) => {
      const bad = new Set(failed);
      let raw = start;
      const all = Array.from({ length: 550 }, (_, scan): Fresh => {
        if (scan % 7 === 0) raw += steps[Math.floor(scan / 7) % steps.length]!;
        const utc = utcMs(OPENED + scan * 20_000 + ((scan * jitter) % 977));
        return reads(probe, scan, utc, bad.has(scan) && scan % 2 === 0 ? null : raw, {
          boot: scan < 350 ? 1 : 2,
          slotIndex,
          boardMs: boardMs(scan * 20_000),
          status: bad.has(scan) ? 'bad-crc' : 'ok',
        });
      }).filter(({ scan }) => scan < hole || scan > hole + 6);
      const doubled = all.find(({ scan }) => scan === 200);
      if (conflict && doubled) all.push({ ...doubled, scan: 5000, raw: (doubled.raw ?? 0) + 1 });
      const isLate = ({ scan }: Fresh) => scan >= late && scan < late + 15;
      return { now: all.filter((each) => !isLate(each)), late: all.filter(isLate) };
    });

/** From an object for each reading, as everything was judged before there were blocks. */
function byObjects(store: Store, season: Season, cup: Cup) {
  const exposure = exposureOf(season, cup, LATEST);
  return judgeExposure(
    exposure,
    (probe) =>
      observations(store.readings(probe as RomId, exposure.load, exposure.turn), season.commissioned),
    DEFAULT_RULES,
  );
}
const orRefused = <T>(task: () => T) => {
  try {
    return task();
  } catch (error) {
    if (error instanceof Refusal) return error.message;
    throw error;
  }
};

let files = 0;
/** A cup that is loaded at 1 min, moved at 95 and turned at 181; both its probes may have been in ice meanwhile. */
function situation(offset: number | null) {
  files += 1;
  const path = join(folder, `${files}`);
  const store = openStoreToWrite(path, OPENED);
  record(store, LATEST, () => [
    opens,
    assigns(1, rom),
    assigns(2, otherRom),
    ...(offset === null ? [] : [iceChecks(offset, 30), iceChecks(offset / 3, 120, otherRom)]),
    loads('c1', 1),
    seats('c1', 1, 1),
    moves('c1', 2, 95),
    turns('c1', 181),
  ]);
  const season = foldSeason(store.facts());
  return { path, store, season, cup: season.cups.get(label('c1'))! };
}

describe('ruleOn()', () => {
  it('says the same of sealed readings as of rows, to the last bit, at any state of sealing', () => {
    const rulings = new Set<string>();
    fc.assert(
      fc.property(
        probeDay(rom, 0),
        probeDay(otherRom, 1),
        fc.option(fc.double({ min: -0.4, max: 0.4, noNaN: true })),
        (one, two, offset) => {
          const { store, season, cup } = situation(offset);
          const add = (readings: readonly Fresh[]) => store.transaction(() => store.addReadings(readings));
          const same = () => {
            const ruling = orRefused(() => ruleOn(store, season, cup, DEFAULT_RULES, LATEST));
            expect(ruling).toEqual(orRefused(() => byObjects(store, season, cup)));
            return ruling;
          };
          add([...one.now, ...two.now]);
          const early = same();
          for (let hours = 0; hours < 3; hours += 1) {
            store.sealOldest(LATEST, Number.MAX_SAFE_INTEGER, LATEST);
            expect(same()).toEqual(early);
          }
          add([...one.late, ...two.late]);
          const whole = same();
          while (store.sealOldest(LATEST, Number.MAX_SAFE_INTEGER, LATEST) !== null)
            expect(same()).toEqual(whole);
          rulings.add(typeof whole === 'string' ? 'refused' : whole.ruling);
          store.close();
        },
      ),
      { numRuns: 8 },
    );
    // The morning above is worth nothing if it always ends the same.
    expect(rulings.size).toBeGreaterThan(2);
  });

  it('would not, had a block another reading in it (negative control); one that is damaged leaves a gap', () => {
    const { path, store, season, cup } = situation(null);
    const [one, two] = [probeDay(rom, 0), probeDay(otherRom, 1)].map(
      (day) => fc.sample(day, { seed: 3, numRuns: 1 })[0]!,
    );
    const warm = (day: { now: Fresh[] }) => day.now.map((each) => ({ ...each, raw: 480, status: 'ok' }));
    store.transaction(() => store.addReadings([...warm(one!), ...warm(two!)]));
    while (store.sealOldest(LATEST, Number.MAX_SAFE_INTEGER, LATEST) !== null);
    const ruled = () => ruleOn(store, season, cup, DEFAULT_RULES, LATEST);
    const before = ruled();
    const sqlite = openSqlite(path, 'write');
    const { bytes } = sqlite.get<{ bytes: ArrayBuffer }>('SELECT bytes FROM blocks WHERE id = 1')!;
    const readings = openBlock(new Uint8Array(bytes)).readings();
    const colder = readings.map((each, index) => (index === 100 ? { ...each, raw: 479 } : each));
    sqlite.run('UPDATE blocks SET bytes = ? WHERE id = 1', encodeBlock(colder));
    expect(ruled()).not.toEqual(before);
    sqlite.run(
      'UPDATE blocks SET bytes = ? WHERE id = 1',
      new Uint8Array(bytes).map((byte) => byte ^ 1),
    );
    expect(ruled().observedMinutes).toBeLessThan(before.observedMinutes - 10);
    expect(ruled().ruling).toBe('unproven');
    expect(store.brokenBlocks()).toHaveLength(1);
    sqlite.close();
    store.close();
  });
});
