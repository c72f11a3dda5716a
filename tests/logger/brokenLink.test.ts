import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { boardLog } from '../../src/logger/boardLog.js';
import { assignments, factsOf } from '../../src/logger/crew.js';
import { runLogger } from '../../src/logger/logger.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { between, later, minutes, seconds, utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { ruleOn } from '../../src/visit/ruling.js';
import { foldSeason } from '../../src/visit/season.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { playFlawlessly } from '../emulator/scenarios/flawless.js';
import { Lockstep } from './lockstep.js';

/** The real image: a morning that the carrier logs alone, and a link that is lost while its log is read. */
const scenario = findScenario('cold-morning')!;
const vehicle = scenario.vehicle();
const { carrier, slots, faults } = scenario.carriers[0]!;
const RIDE = between(scenario.start, scenario.end);
/** After the ride it stands in the yard for a while: pages that are the last to come. */
const EVENING = RIDE + minutes(90);
const ALL = [utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)] as const;
const flawless = new Map(playFlawlessly(scenario).rulings.map(({ cup, ruling }) => [cup, ruling]));

const folders: string[] = [];
let copies = 0;
const newPath = () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-broken-'));
  folders.push(folder);
  copies += 1;
  return join(folder, `${copies}.sqlite`);
};
afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** The rulings on the cups that only ever sat in this carrier. */
function rulings(store: Store): [string, string][] {
  const season = foldSeason(store.facts());
  return [...season.cups.values()]
    .filter(({ places }) => places.every((place) => place.carrier === carrier))
    .map((cup) => [cup.cup, ruleOn(store, season, cup, DEFAULT_RULES, scenario.end).ruling]);
}
function enterCups(store: Store): void {
  record(store, scenario.start, () => assignments(scenario));
  for (const action of scenario.crew)
    if (!['count', 'close-visit'].includes(action.does))
      record(store, action.at, (season) => factsOf(action, season, store));
}
/** What is not as it was: a scan that is there twice or at another time than the counter of the board makes it. */
function faultsOf(store: Store): string[] {
  const found: string[] = [];
  const seen = new Set<string>();
  const zeros = new Map<number, number>();
  for (const { boot, scan, boardMs, utc, status } of store.readings(slots[0]!.rom, ...ALL)) {
    const key = `${boot} ${scan}`;
    if (seen.has(key)) found.push(`${key} is there twice`);
    seen.add(key);
    if (status === 'unplaced') continue;
    const zero = zeros.get(boot) ?? utc - boardMs;
    zeros.set(boot, zero);
    if (Math.abs(utc - boardMs - zero) > 2000) found.push(`${key} is at another time`);
  }
  return found;
}
const usable = (store: Store) =>
  store.readings(slots[0]!.rom, ...ALL).filter(({ status }) => status !== 'unplaced');

const bench = new Lockstep({
  start: scenario.start,
  roms: slots.map(({ rom }) => rom),
  temperature: (rom, ms) => vehicle.probe(rom as never, later(scenario.start, ms as never)),
  faults: faults.map(({ rom, from, to }) => ({
    kind: 'loose-lead' as const,
    rom,
    fromMs: between(scenario.start, from),
    toMs: between(scenario.start, to),
  })),
});
/** In the morning the board is heard for two minutes. */
async function hears(store: Store): Promise<void> {
  bench.plugIn(store, carrier, { reset: false, withOpenPage: false });
  await bench.run(bench.ms + minutes(2));
  bench.comeOff();
}
/** In the evening most of its log comes, which has seven scans a page. */
async function beginsToRead(store: Store, say: (sentence: string) => void = () => {}): Promise<void> {
  const begun = bench.heard.length;
  const pages = () => bench.heard.slice(begun).filter(({ kind }) => kind === 'log-page').length;
  bench.plugIn(store, carrier, { reset: true, withOpenPage: true, say });
  const enough = Math.round((EVENING / seconds(20) / 7) * 0.9);
  await bench.run(bench.ms + minutes(2), () => pages() >= enough);
  expect(Math.abs(pages() - enough)).toBeLessThan(5);
}
async function readsAll(store: Store): Promise<void> {
  const { talk } = bench.plugIn(store, carrier, { reset: true, withOpenPage: true });
  await bench.run(bench.ms + minutes(3), () => talk.isCaughtUp());
  expect(talk.isCaughtUp()).toBe(true);
  bench.comeOff();
}

/** A logger that has no source. */
const startsAndEnds = (store: Store, said: string[]): Promise<void> =>
  runLogger({
    ...{ store, sources: [], pid: process.pid, whenUnwritable: 'end', signal: new AbortController().signal },
    clock: new VirtualClock(bench.utc()),
    say: (sentence) => void said.push(sentence),
  });

let killed: Store;
/** Lost it in the middle, too, and noticed that. */
let noticing: Store;
/** The same, and had not heard it in the morning. */
let stranger: Store;
const said = { noticing: [] as string[], stranger: [] as string[] };
beforeAll(async () => {
  const path = newPath();
  killed = openStoreToWrite(path, scenario.start);
  noticing = openStoreToWrite(newPath(), scenario.start);
  stranger = openStoreToWrite(newPath(), scenario.start);
  await hears(killed);
  await hears(noticing);
  await bench.run(EVENING);
  await beginsToRead(stranger, (sentence) => said.stranger.push(sentence));
  bench.comeOff();
  await beginsToRead(noticing, (sentence) => said.noticing.push(sentence));
  bench.comeOff();
  await beginsToRead(killed);
  bench.unplug();
  killed.close();
  killed = openStoreToWrite(path, scenario.start);
  for (const store of [killed, noticing, stranger]) enterCups(store);
});
afterAll(() => {
  for (const store of [killed, noticing, stranger]) store.close();
});
const asMeasured = (found: [string, string][]) => found.map(([cup]) => [cup, flawless.get(cup)]);

describe('a link that is lost while a log is read, and a board that never comes back', () => {
  it('leaves pages that are not read when the logger is killed with it (negative control)', () => {
    expect([...killed.unreadPages().values()][0]).toBeGreaterThan(100);
    expect(usable(killed).length).toBeLessThan(20);
    expect(rulings(killed).filter(([, ruling]) => ruling !== 'unproven')).toEqual([]);
  });

  it('has them read when a logger starts next, without the board: the rulings are those of the whole ride', async () => {
    const sentences: string[] = [];
    await startsAndEnds(killed, sentences);
    expect(sentences).toMatchObject([
      expect.stringMatching(
        /^board [0-9A-F]{8}: not all of its log has come; \d{4} readings were read from the \d+ pages that are here: connect it again/,
      ),
    ]);
    const found = rulings(killed);
    expect(found.length).toBeGreaterThanOrEqual(9);
    expect(found).toEqual(asMeasured(found));
    expect(new Set(found.map(([, ruling]) => ruling)).size).toBeGreaterThan(1);
    expect(faultsOf(killed)).toEqual([]);
    // Asked again, nothing comes twice; and it is not forgotten that the rest is missing.
    const again = [...boardLog(killed).takeInKept(bench.utc()).values()];
    expect(again).toMatchObject([{ readings: 0, unplaced: 0 }]);
    expect([...killed.unreadPages().values()][0]).toBeGreaterThan(100);
  });

  it('has them read at once by a logger that notices, which says that it is not all', () => {
    const found = rulings(noticing);
    expect(found).toEqual(asMeasured(found));
    expect(faultsOf(noticing)).toEqual([]);
    expect(said.noticing.at(-1)).toMatch(
      /^board [0-9A-F]{8}: not all of its log has come; \d+ readings were read from the \d+ pages that are here: connect it again, or sync it$/,
    );
  });

  it('has them used where nobody had found its clock right before, for the board tells that it was not set', () => {
    expect(usable(stranger).filter(({ boot }) => boot === 1).length).toBeGreaterThan(500);
    expect(faultsOf(stranger)).toEqual([]);
    expect(said.stranger.at(-1)).toMatch(/pages that are here: connect it again/);
  });

  it('changes no reading that counts when the board comes back after all, and the rest with it', async () => {
    const before = killed.readings(slots[0]!.rom, ...ALL);
    const found = rulings(killed);
    await readsAll(killed);
    const after = killed.readings(slots[0]!.rom, ...ALL);
    expect(after.filter(({ id }) => before.some((each) => each.id === id))).toEqual(before);
    expect(after.length).toBeGreaterThan(before.length + 50);
    expect(faultsOf(killed)).toEqual([]);
    expect(rulings(killed)).toEqual(found);
    expect(killed.unreadPages().size).toBe(0);
    await readsAll(stranger);
    expect(rulings(stranger)).toEqual(found);
    expect(faultsOf(stranger)).toEqual([]);
  });
});
