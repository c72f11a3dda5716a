import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { LogStateEvent } from '../../src/carrier/events.js';
import type { CrewAction } from '../../src/emulator/scenario.js';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { assignments, factsOf } from '../../src/logger/crew.js';
import { openStoreToWrite, type Store, type StoredReading } from '../../src/store/store.js';
import { parseRomId } from '../../src/units/ids.js';
import { between, later, minutes, seconds, utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { ruleOn } from '../../src/visit/ruling.js';
import { foldSeason } from '../../src/visit/season.js';
import { manyRoms } from '../emulator/bench.js';
import { playFlawlessly } from '../emulator/scenarios/flawless.js';
import { Lockstep } from './lockstep.js';

const scenario = findScenario('cold-morning')!;
const vehicle = scenario.vehicle();
const { carrier, slots, faults } = scenario.carriers[0]!;
/** The ten of the carrier's slots, and two that hang in the air of the box. */
const roms = [...slots.map(({ rom }) => rom), ...manyRoms(2).map((rom) => parseRomId(rom)!)];
const slotOf = new Map(slots.map(({ slot, rom }) => [rom, slot]));
/** A ceramic resonator: 0.4 % fast (common practice, no source: up to 0.5 %). */
const RESONATOR_PPM = 4000;
const ALL = [utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)] as const;
const HOUR = minutes(60);
const flawless = new Map(playFlawlessly(scenario).rulings.map(({ cup, ruling }) => [cup, ruling]));

const bench = (crystalPpm = 0) =>
  new Lockstep({
    start: scenario.start,
    roms,
    crystalPpm,
    temperature: (rom, ms) => (slotOf.has(rom) ? vehicle.probe(rom, later(scenario.start, ms as never)) : 21),
    faults: faults.map(({ rom, from, to }) => ({
      kind: 'loose-lead' as const,
      rom,
      fromMs: between(scenario.start, from),
      toMs: between(scenario.start, to),
    })),
  });
const folders: string[] = [];
function newStore(): Store {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-alone-'));
  folders.push(folder);
  return openStoreToWrite(join(folder, 'x.sqlite'), scenario.start);
}
afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** What the crew did with cups, entered into a store. */
function enter(store: Store, isWanted: (action: CrewAction) => boolean = () => true): void {
  if (foldSeason(store.facts()).visits.size === 0) record(store, scenario.start, () => assignments(scenario));
  for (const action of scenario.crew)
    if (!['count', 'close-visit'].includes(action.does) && isWanted(action))
      record(store, action.at, (season) => factsOf(action, season, store));
}
/** The rulings on the cups that only ever sat in this carrier. */
function rulings(store: Store): [string, string][] {
  const season = foldSeason(store.facts());
  return [...season.cups.values()]
    .filter(({ places }) => places.every((place) => place.carrier === carrier))
    .map((cup) => [cup.cup, ruleOn(store, season, cup, DEFAULT_RULES, scenario.end).ruling]);
}

const longestGap = (times: readonly { readonly utc: number }[]): number =>
  Math.max(...times.slice(1).map(({ utc }, index) => utc - times[index]!.utc));

/** The same carrier with a host that watched all the while. */
let watched: [string, string][];
beforeAll(async () => {
  const store = newStore();
  const whole = bench();
  whole.plugIn(store, carrier, { reset: false, withOpenPage: false });
  await whole.run(between(scenario.start, scenario.end));
  enter(store);
  watched = rulings(store);
  store.close();
});

describe('a carrier that is watched', () => {
  it('comes to the rulings of the scenario’s own temperatures, which are not all alike', () => {
    expect(watched.length).toBeGreaterThanOrEqual(9);
    expect(watched).toEqual(watched.map(([cup]) => [cup, flawless.get(cup)]));
    expect(new Set(watched.map(([, ruling]) => ruling)).size).toBeGreaterThan(1);
  });
});

describe('a day alone', () => {
  const REBOOTS = [HOUR, HOUR * 2.3, HOUR * 7];
  const EVENING = HOUR * 12;
  let store: Store;
  let log: LogStateEvent;
  let caughtUp: boolean;
  let took: number;
  let whole: Lockstep;
  beforeAll(async () => {
    whole = bench(RESONATOR_PPM);
    store = newStore();
    await whole.run(REBOOTS[0]!);
    whole.board.reset('external');
    await whole.run(REBOOTS[1]!);
    whole.board.reset('power-on');
    await whole.run(REBOOTS[2]!);
    whole.board.reset('brown-out');
    await whole.run(EVENING);
    const { talk } = whole.plugIn(store, carrier, { reset: true, withOpenPage: true });
    await whole.run(EVENING + minutes(5), () => talk.isCaughtUp());
    caughtUp = talk.isCaughtUp();
    took = whole.ms - EVENING;
    // The host says that it is there every 20 s, and is told what the log holds.
    await whole.run(whole.ms + seconds(25));
    log = whole.heard.findLast((event) => event.kind === 'log-state')!;
  });
  afterAll(() => store.close());

  it('is read within two minutes and acknowledged', () => {
    expect(caughtUp).toBe(true);
    expect(took).toBeLessThan(minutes(2));
    expect(log.acknowledged).toBeGreaterThan(300);
    expect(log.acknowledged).toBe(log.open - 1);
    expect(store.brokenAt()).toBeNull();
    expect(store.discards()).toEqual([]);
  });

  /** What is wrong with the readings of one boot: a scan that is doubled, missing or at another time. */
  function faultsOf(boot: number, own: readonly StoredReading[]): string[] {
    const begins = [0, ...REBOOTS, EVENING];
    const [from, to] = [begins[boot - 1]!, begins[boot]!];
    const real = (boardMs: number) => boardMs / (1 + RESONATOR_PPM / 1e6);
    const faults: string[] = [];
    // The first scan of a boot is not logged; each further one is due 20 s after the one before.
    for (const [index, { scan }] of own.entries())
      if (scan !== index + 2) faults.push(`boot ${boot}: scan ${scan} in place of ${index + 2}`);
    const last = own.at(-1);
    if (last === undefined || to - from - real(last.boardMs) > 20_000 + 2000)
      faults.push(`boot ${boot}: its end is missing`);
    for (const { scan, boardMs, utc } of own)
      if (Math.abs(utc - (scenario.start + from + real(boardMs))) >= 2000)
        faults.push(`boot ${boot}: scan ${scan} is at another time`);
    return faults;
  }
  const ofBoot = (boot: number) =>
    store.readings(roms[0]!, ...ALL).filter((reading) => reading.boot === boot && reading.scan > 1);

  it('has every scan once, at its time', () => {
    for (let boot = 1; boot <= 4; boot += 1) expect(faultsOf(boot, ofBoot(boot))).toEqual([]);
    const scans = new Set(store.readings(roms[0]!, ...ALL).map(({ boot, scan }) => `${boot} ${scan}`));
    expect(scans.size).toBeGreaterThan(12 * 180 - 12);
  });

  it('would be told from one with a scan doubled, dropped, late or cut off (negative control)', () => {
    const own = ofBoot(2);
    const late = own.with(50, { ...own[50]!, utc: utcMs(own[50]!.utc + 2500) });
    expect(faultsOf(2, own.toSpliced(50, 0, own[50]!))[0]).toContain('in place of');
    expect(faultsOf(2, own.toSpliced(50, 1))[0]).toContain('in place of');
    expect(faultsOf(2, late)).toEqual(['boot 2: scan 52 is at another time']);
    expect(faultsOf(2, own.slice(0, -3))).toEqual(['boot 2: its end is missing']);
  });

  it('is told as four boots proven by the clock', () => {
    const read = new Map(
      store.facts().flatMap(({ fact }) => (fact.type === 'boot-read' ? [[fact.boot, fact] as const] : [])),
    );
    expect([...read.values()].map(({ boot, resetCause, provenBy }) => [boot, resetCause, provenBy])).toEqual([
      [1, 'power-on', 'clock'],
      [2, 'external', 'clock'],
      [3, 'power-on', 'clock'],
      [4, 'brown-out', 'clock'],
    ]);
  });

  it('comes to the rulings of a carrier that was watched', () => {
    enter(store);
    expect(rulings(store)).toEqual(watched);
  });
});

describe('a cup that was seated', () => {
  it('gives the board its limits and when it is due, and takes them away when it is turned', async () => {
    const store = newStore();
    const { board, plugged } = { board: bench(), plugged: { reset: false, withOpenPage: false } };
    const settings = () => {
      const from = board.heard.findLastIndex(({ kind }) => kind === 'settings');
      return board.heard.slice(from).filter((event) => event.kind === 'slot-setting');
    };
    board.plugIn(store, carrier, plugged);
    await board.run(minutes(1));
    enter(store, (action) => action.at <= scenario.crew.find(({ does }) => does === 'turn')!.at - 1000);
    await board.run(minutes(2));
    board.plugIn(store, carrier, plugged);
    await board.run(minutes(3));
    const season = foldSeason(store.facts());
    const seated = [...season.cups.values()].filter(({ places }) => places.at(-1)?.carrier === carrier);
    expect(settings()).toHaveLength(seated.length);
    for (const { slot, rom, cold, hot, due } of settings()) {
      const cup = seated.find(({ places }) => places.at(-1)!.slot === slot)!;
      expect([rom, cold, hot]).toEqual([roms[slot - 1], 249, 640]);
      expect(Math.abs(due! - cup.load - HOUR * 3)).toBeLessThanOrEqual(500);
    }
    enter(store, ({ does }) => does === 'turn');
    await board.run(minutes(4));
    board.plugIn(store, carrier, plugged);
    await board.run(minutes(5));
    expect(settings()).toEqual([]);
    store.close();
  });
});

describe('a data cable that comes off', () => {
  it('changes no ruling: out for 2, 5, 30 and 120 min, the board reset at each reopening', async () => {
    const store = newStore();
    const cut = bench();
    const outages = [
      [minutes(10), minutes(2)],
      [minutes(20), minutes(5)],
      [minutes(40), minutes(30)],
      [minutes(90), minutes(120)],
    ] as const;
    let host = cut.plugIn(store, carrier, { reset: false, withOpenPage: false });
    for (const [from, length] of outages) {
      await cut.run(from);
      cut.unplug();
      await cut.run(from + length);
      host = cut.plugIn(store, carrier, { reset: true, withOpenPage: false });
    }
    await cut.run(between(scenario.start, scenario.end), () => false);
    expect(host.talk.isCaughtUp()).toBe(true);
    enter(store);
    const times = store.readings(roms[1]!, ...ALL).filter(({ status }) => status === 'ok');
    expect(longestGap(times)).toBeLessThanOrEqual(seconds(60));
    // Without the log this would be the longest outage (negative control).
    const live = new Set(
      cut.heard.flatMap((event) => (event.kind === 'scan' ? [`${event.bootCount} ${event.scan}`] : [])),
    );
    expect(longestGap(times.filter(({ boot, scan }) => live.has(`${boot} ${scan}`)))).toBeGreaterThan(
      minutes(119),
    );
    expect(rulings(store)).toEqual(watched);
    store.close();
  });
});
