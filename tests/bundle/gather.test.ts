import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { checkBundle } from '../../src/bundle/check.js';
import { checkToGather, gatherBundles } from '../../src/bundle/gather.js';
import { writeBundle } from '../../src/bundle/write.js';
import { machineAt } from '../../src/cli/checkup/machine.js';
import { storeChecks } from '../../src/cli/checkup/storeChecks.js';
import { CHAIN_ORIGIN, chainHash } from '../../src/store/chain.js';
import type { Fact } from '../../src/store/facts.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { Refusal } from '../../src/units/refusal.js';
import { formatInstant, utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { resultToJson, visitResult } from '../../src/visit/result.js';
import { seasonOf } from '../../src/visit/season.js';
import {
  commission,
  count,
  cupOf,
  MORNING,
  type Morning,
  morningStore,
  openVisit,
  ride,
  scans,
  writing,
} from './invented.js';

const NOW = utcMs(MORNING.opened + 24 * 3_600_000);
/** A second vehicle at the same visit: its carrier is called A, too. */
const OTHER: Morning = { ...MORNING, label: 'b', probe: 21, board: '0000ABCD', cups: 5 };

let folder: string;
let stores: Store[];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-gather-'));
  stores = [];
});
afterEach(() => {
  for (const store of stores) store.close();
  rmSync(folder, { recursive: true });
});

const kept = (store: Store): Store => {
  stores.push(store);
  return store;
};
const whole = (name: string, morning = MORNING) =>
  kept(morningStore(join(folder, `${name}.sqlite`), morning));
const empty = (name: string) => kept(openStoreToWrite(join(folder, `${name}.sqlite`), NOW));
/** A morning without counts: they are the lab's. */
function uncounted(name: string, morning: Morning): Store {
  const store = kept(openStoreToWrite(join(folder, `${name}.sqlite`), utcMs(morning.opened - 7_200_000)));
  commission(store, morning);
  openVisit(store, morning);
  ride(store, morning);
  scans(store, morning);
  return store;
}
let bundles = 0;
async function bundleOf(store: Store, more: object = {}): Promise<string> {
  bundles += 1;
  const out = join(folder, `bundle-${bundles}`);
  await writeBundle(store, writing(out, more));
  return out;
}
async function gather(into: Store, ...folders: string[]) {
  const checked = [];
  for (const each of folders) checked.push(await checkToGather(each));
  return gatherBundles(into, checked, () => into.keepText('The lab'), NOW);
}
const tables = (bundle: string) =>
  Object.fromEntries(
    readdirSync(bundle)
      .filter((file) => file.endsWith('.csv'))
      .map((file) => [file, readFileSync(join(bundle, file), 'utf8')]),
  );
const stateOf = (store: Store) => [store.head(), store.chains(), store.everyFact().length];
function result(store: Store) {
  const season = seasonOf(store);
  return resultToJson(visitResult(store, season, [...season.visits.values()], NOW));
}
const append = (store: Store, ...facts: object[]) => record(store, NOW, () => facts as unknown as Fact[]);

describe('gatherBundles()', () => {
  it('gives an empty store what was written, and that writes the same again', async () => {
    const first = await bundleOf(whole('vehicle'), { withPeople: true });
    const store = empty('lab');
    expect(await gather(store, first)).toMatchObject({ visits: ['alder-1'], newReadings: 2400 });
    const again = await bundleOf(store, { withPeople: true });
    const { 'texts.csv': texts, ...rest } = tables(again);
    const { 'texts.csv': before, ...others } = tables(first);
    expect(rest).toEqual(others);
    // One more: who gathered.
    expect(texts!.split('\r\n').length).toBe(before!.split('\r\n').length + 1);
    const chain = readdirSync(join(first, 'facts'))[0]!;
    expect(readFileSync(join(again, 'facts', chain), 'utf8')).toBe(
      readFileSync(join(first, 'facts', chain), 'utf8'),
    );
    expect((await checkBundle(again)).findings).toEqual([]);
  });

  it('changes nothing the second time', async () => {
    const store = empty('lab');
    const bundle = await bundleOf(whole('vehicle'));
    await gather(store, bundle);
    const before = stateOf(store);
    expect(await gather(store, bundle, bundle)).toMatchObject({ newReadings: 0, chains: [{ newFacts: 0 }] });
    expect(stateOf(store)).toEqual(before);
  });

  it('makes one visit of two vehicles and the lab, in any order, in any of their stores', async () => {
    const people = { withPeople: true };
    const one = uncounted('one', MORNING);
    const two = uncounted('two', OTHER);
    const lab = empty('lab');
    await gather(lab, await bundleOf(two, people), await bundleOf(one, people));
    count(lab, MORNING);
    count(lab, OTHER, ['wash', 'bees']);
    const fromLab = await bundleOf(lab, people);
    expect((await checkBundle(fromLab)).findings).toEqual([]);
    await gather(one, fromLab);
    const third = empty('third');
    await gather(third, await bundleOf(two), fromLab);
    const expected = result(lab);
    expect(expected.rulings.cups.map(({ ruling }) => ruling)).toEqual(
      // As in each vehicle by itself; both have a carrier A, with other probes.
      expect.arrayContaining(['valid', 'cold', 'spoiled']),
    );
    expect(expected.yards[0]!.cups).toMatchObject({ valid: 6 });
    for (const store of [one, third]) expect(byCup(result(store))).toEqual(byCup(expected));
    expect(tables(await bundleOf(one))).toEqual(tables(await bundleOf(third)));
  });

  it('takes what is new when a chain has grown, sealed readings in the place of loose ones', async () => {
    const store = whole('vehicle');
    const lab = empty('lab');
    await gather(lab, await bundleOf(store));
    while (store.sealOldest(NOW, store.lastReading(), NOW) !== null);
    append(store, { type: 'visit-closed', visit: MORNING.visit, at: NOW });
    const later = await bundleOf(store);
    const { proven, readings } = await checkBundle(later);
    expect(proven).toBe(readings);
    expect(await gather(lab, later)).toMatchObject({ newReadings: 0, chains: [{ newFacts: 2 }] });
    expect(tables(await bundleOf(lab))).toEqual(tables(later));
    // An earlier bundle afterwards takes nothing back.
    const before = stateOf(lab);
    await gather(lab, later);
    expect(stateOf(lab)).toEqual(before);
  });

  it('carries a correction that one store makes of an entry of another', async () => {
    const vehicle = uncounted('vehicle', MORNING);
    const lab = empty('lab');
    await gather(lab, await bundleOf(vehicle));
    const loaded = seasonOf(lab).cups.get(cupOf(MORNING, 0))!.entries[0]!;
    const [old, now] = [5, 6].map((minute) =>
      formatInstant(utcMs(MORNING.opened + minute * 60_000 - 60_000)),
    );
    const at = formatInstant(loaded.fact.at);
    append(lab, {
      type: 'entry-corrected',
      cup: cupOf(MORNING, 0),
      entry: loaded.seq,
      field: 'at',
      old: at,
      new: old,
      why: lab.keepText('the card says so'),
      at: NOW,
    });
    expect(now).toBe(at);
    await gather(vehicle, await bundleOf(lab));
    expect(formatInstant(seasonOf(vehicle).cups.get(cupOf(MORNING, 0))!.load)).toBe(old);
    const bundle = await bundleOf(vehicle);
    expect((await checkBundle(bundle)).findings).toEqual([]);
    expect(tables(bundle)['corrections.csv']).toContain(`entry-corrected,store-${vehicle.storeId()},`);
  });

  it('is found out by checkup when what was gathered is changed in the store', async () => {
    const lab = empty('lab');
    await gather(lab, await bundleOf(whole('vehicle')));
    const sentences = () =>
      storeChecks(lab.path, machineAt('/'), NOW)
        .filter(({ check }) => check === 'gathered')
        .map(({ says }) => says);
    expect(sentences()).toEqual(['1 chain of other stores, each as it was taken in.']);
    const sqlite = openSqlite(lab.path, 'write');
    sqlite.exec(`UPDATE gathered_facts SET line = replace(line, '"tray":8', '"tray":3')`);
    sqlite.exec(
      "UPDATE gathered_blocks SET bytes = x'00' WHERE rowid = (SELECT MIN(rowid) FROM gathered_blocks WHERE part = 0)",
    );
    sqlite.close();
    expect(sentences()[0]).toMatch(
      /changed: fact \d+ of the chain of store \w+ does not follow from the one before; the readings of probe \S+ from \S+ on are not those/,
    );
  });

  it('finds out a chain that was cut after another store had gathered it', async () => {
    const { bundle } = await gatheredWith((links) => links.slice(0, -1));
    const { findings } = await checkBundle(bundle);
    expect(findings.map(({ what }) => what).join()).toMatch(/its tail was cut off/);
  });
});

type Links = ReturnType<Store['chains']>[number]['links'];

/** A lab that has gathered what a vehicle wrote, and its bundle when the chain it gathered is another. */
async function gatheredWith(change: (links: Links) => Links) {
  const vehicle = whole('vehicle');
  const lab = empty('lab');
  await gather(lab, await bundleOf(vehicle));
  const chains = () =>
    lab.chains().map((chain, index) => (index === 0 ? chain : { ...chain, links: change(chain.links) }));
  return { vehicle, lab, bundle: await bundleOf({ ...lab, chains }) };
}

/** A chain with one fact changed and every hash after it made anew: it holds in itself. */
function writtenAnew(links: Links): Links {
  let hash = CHAIN_ORIGIN;
  return links.map(({ seq, line }) => {
    const told = line.replace('"bees":300', '"bees":301');
    hash = chainHash(hash, told);
    return { seq, line: told, hash };
  });
}

describe('a gathered chain', () => {
  it('that was written anew as a whole is found out by what the store saw that gathered it', async () => {
    const { vehicle, lab, bundle } = await gatheredWith(writtenAnew);
    const { findings } = await checkBundle(bundle);
    expect(findings.map(({ what }) => what)).toEqual([
      expect.stringMatching(
        /^has another hash at fact \d+ than fact \d+ of store \w+ saw: it was written anew$/,
      ),
    ]);
    // Negative control: without that witness nothing is found, for the chain holds in itself.
    const alone = () =>
      lab
        .chains()
        .slice(1)
        .map((chain) => ({ ...chain, links: writtenAnew(chain.links) }));
    const { findings: none } = await checkBundle(
      await bundleOf({ ...lab, chains: alone, storeId: () => vehicle.storeId() }),
    );
    expect(none).toEqual([]);
  });
});

/** What does not depend on the order in which cups came. */
const byCup = (json: ReturnType<typeof resultToJson>) => ({
  yards: json.yards,
  rulings: json.rulings.cups.toSorted((a, b) => (a.cup < b.cup ? -1 : 1)),
});

describe('gatherBundles() refuses, and changes nothing', () => {
  const refused = async (into: Store, what: RegExp, ...folders: string[]) => {
    const before = stateOf(into);
    const error = await gather(into, ...folders).then(
      () => null,
      (each: unknown) => each,
    );
    expect(error).toBeInstanceOf(Refusal);
    expect((error as Refusal).message).toMatch(what);
    expect(stateOf(into)).toEqual(before);
  };

  it('a cup label that two vehicles used', async () => {
    const other = whole('two', { ...OTHER, label: MORNING.label });
    await refused(
      empty('lab'),
      /Cup a1 was loaded in store \w+ and in store \w+/,
      await bundleOf(whole('one')),
      await bundleOf(other),
    );
  });

  it('a visit that was opened with another yard or rule set', async () => {
    const other = whole('two', { ...OTHER, yard: 'sedge-12' });
    await refused(
      empty('lab'),
      /Visit alder-1 was opened with another yard in store/,
      await bundleOf(whole('one')),
      await bundleOf(other),
    );
  });

  it('two readings of one cup that differ, and takes two that agree', async () => {
    const vehicle = uncounted('vehicle', MORNING);
    const [lab, other] = [empty('lab'), empty('other')];
    await gather(lab, await bundleOf(vehicle));
    await gather(other, await bundleOf(vehicle));
    const counted = (tray: number) => ({
      type: 'cup-counted',
      cup: cupOf(MORNING, 0),
      tray,
      wash: null,
      bees: null,
      at: NOW,
    });
    append(lab, counted(7));
    append(other, counted(9));
    await refused(
      lab,
      /The tray count of cup a1 is (?:7|9) in store \w+ and (?:9|7) in store \w+; look again/,
      await bundleOf(other),
    );
    append(other, {
      type: 'count-corrected',
      cup: cupOf(MORNING, 0),
      field: 'tray',
      old: 9,
      new: 7,
      why: other.keepText('seen twice'),
      at: NOW,
    });
    await gather(lab, await bundleOf(other));
    expect(seasonOf(lab).cups.get(cupOf(MORNING, 0))!.counts.tray).toBe(7);
  });

  it('a cup that was turned twice', async () => {
    const vehicle = uncounted('vehicle', MORNING);
    const lab = empty('lab');
    await gather(lab, await bundleOf(vehicle));
    // As a store would have it that was told of the load only.
    lab.append(NOW, { type: 'cup-turned', cup: cupOf(MORNING, 0), at: utcMs(MORNING.opened + 11_100_001) });
    await refused(vehicle, /Cup a1 was turned at .*its exposure is over/, await bundleOf(lab));
  });

  it('two copies of one store that were worked on', async () => {
    const store = uncounted('one', MORNING);
    const lab = empty('lab');
    cpSync(store.path, join(folder, 'copy.sqlite'));
    cpSync(`${store.path}-wal`, join(folder, 'copy.sqlite-wal'));
    const copy = kept(openStoreToWrite(join(folder, 'copy.sqlite'), NOW));
    await gather(lab, await bundleOf(store));
    append(store, { type: 'visit-closed', visit: MORNING.visit, at: utcMs(NOW - 1) });
    append(copy, { type: 'visit-closed', visit: MORNING.visit, at: NOW });
    await gather(lab, await bundleOf(store));
    await refused(lab, /the chain of store \w+ is another one from fact \d+ on/, await bundleOf(copy));
    await refused(store, /the chain of store \w+ is another one from fact \d+ on/, await bundleOf(copy));
  });

  it('its own chain when that is longer than what it has', async () => {
    const store = uncounted('one', MORNING);
    cpSync(store.path, join(folder, 'copy.sqlite'));
    cpSync(`${store.path}-wal`, join(folder, 'copy.sqlite-wal'));
    const copy = kept(openStoreToWrite(join(folder, 'copy.sqlite'), NOW));
    append(store, { type: 'visit-closed', visit: MORNING.visit, at: NOW });
    await refused(copy, /it is an earlier copy of itself/, await bundleOf(store));
  });

  it('a bundle that was changed, and a public one', async () => {
    const store = whole('one');
    const bundle = await bundleOf(store);
    rmSync(join(bundle, 'counts.csv'));
    await refused(
      empty('lab'),
      /is not as it was written, so nothing was gathered \(counts\.csv: is missing/,
      bundle,
    );
    await refused(
      empty('other'),
      /is a public bundle, which has no facts/,
      await bundleOf(store, { isPublic: true }),
    );
    expect(existsSync(bundle)).toBe(true);
  });
});
