import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ByteWire } from '../../src/carrier/byteWire.js';
import { scenarioBoard } from '../../src/carrier/emulated/scenarioBoard.js';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { linuxOneWire } from '../../src/carrier/oneWire/linuxOneWire.js';
import { readLines } from '../../src/carrier/readLines.js';
import type { CarrierSource } from '../../src/carrier/source.js';
import { stockBoard } from '../../src/carrier/stock/stockBoard.js';
import type { CrewAction, Scenario } from '../../src/emulator/scenario.js';
import { parseRules } from '../../src/exposure/ruleSet.js';
import type { CupRuling } from '../../src/exposure/types.js';
import { assignments, factsOf } from '../../src/logger/crew.js';
import { nextBoot } from '../../src/logger/nextBoot.js';
import { recorder } from '../../src/logger/recorder.js';
import { recordTo } from '../../src/logger/recordTo.js';
import { checkRecording, replay } from '../../src/logger/replay.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import {
  crc8,
  parseCarrierId,
  parseCupLabel,
  parseRomId,
  parseVisitId,
  parseYardCode,
  type RomId,
} from '../../src/units/ids.js';
import { celsius } from '../../src/units/temperature.js';
import { durationMs, later, minutes, monotonicMs, seconds, utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { ruleOn } from '../../src/visit/ruling.js';
import { foldSeason } from '../../src/visit/season.js';
import { ds18b20 } from '../carrier/host/scratchpads.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { KernelTree } from '../carrier/oneWire/kernel.js';
import { FirmataPeer } from '../carrier/stock/firmataPeer.js';

/** The same temperatures by every way in: four probes, each with a dip of its own at 12 min. */
const START = utcMs(Date.UTC(2026, 4, 12, 12));
/** A short exposure, so that this takes seconds. */
const RULES = parseRules(
  { exposureMinutes: 40, exposureMinutesMin: 35, exposureMinutesMax: 45 },
  'a short exposure',
);
const LOAD = minutes(2);
const TURN = minutes(42);
const END = minutes(43);
const DIP_FROM = minutes(12);
const carrier = parseCarrierId('A')!;
const visit = parseVisitId('v1')!;
/** ROM ids in the pattern of genuine ones: a suspected clone is never certain. */
const romOf = (serial: number): RomId => {
  const bytes = [0x28, serial, 0x9b, 0xbb, 0x0b, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
};
/** What the rules (docs/rules.md, U 0.858) say of each dip: by hand. */
const CUPS = [
  { dip: 26, forMinutes: 0, ruling: 'valid' },
  { dip: 12, forMinutes: 15, ruling: 'cold' },
  // Below 15.56 + 0.858, above 15.56 - 0.858: cold for all that can be told, for longer than 10 min in all.
  { dip: 15.1875, forMinutes: 12, ruling: 'unproven' },
  { dip: 15.1875, forMinutes: 3, ruling: 'valid' },
].map((cup, index) => ({
  ...cup,
  rom: romOf(index + 1),
  cup: parseCupLabel(`C-${index + 1}`)!,
  slot: index + 1,
}));

const felt = (rom: RomId, ms: number): number => {
  const { dip, forMinutes } = CUPS.find((each) => each.rom === rom)!;
  // A probe that never moves by a sixteenth would be taken for stuck.
  const air = 26 + (Math.floor(ms / minutes(10)) % 2) / 16;
  return ms >= DIP_FROM && ms < DIP_FROM + minutes(forMinutes) ? dip : air;
};
const at = (ms: number) => later(START, durationMs(ms));
const crew: CrewAction[] = [
  {
    does: 'open-visit',
    at: START,
    visit,
    yard: parseYardCode('y1')!,
    zone: 'UTC',
    active: 'a',
    lot: 'l',
    declaredCups: 4,
  },
  ...CUPS.flatMap(({ cup, slot }): CrewAction[] => [
    { does: 'load', at: at(LOAD), visit, cup, kind: 'strip', colony: 'c', group: null },
    { does: 'seat', at: at(LOAD), cup, carrier, slot },
  ]),
  ...CUPS.map(({ cup }): CrewAction => ({ does: 'turn', at: at(TURN), cup })),
];
const scenario: Scenario = {
  name: 'dips',
  summary: 'four dips',
  start: START,
  end: at(END),
  carriers: [{ carrier, slots: CUPS, faults: [], isAssigned: true }],
  crew,
  vehicle: () => ({
    probe: (rom, when) => celsius(felt(rom, when - START)),
    cup: () => celsius(26),
  }),
};

const folder = mkdtempSync(join(tmpdir(), 'stillwarm-equal-'));
afterAll(() => rmSync(folder, { recursive: true }));
let files = 0;
const path = (end: string): string => {
  files += 1;
  return join(folder, `${files}.${end}`);
};
const newStore = () => openStoreToWrite(path('sqlite'), START);

function enterCups(store: Store): void {
  record(store, START, () => assignments(scenario));
  for (const action of crew) record(store, action.at, (season) => factsOf(action, season, store));
}
function rulingsOf(store: Store): CupRuling[] {
  enterCups(store);
  const season = foldSeason(store.facts());
  return CUPS.map(({ cup }) => ruleOn(store, season, season.cups.get(cup)!, RULES, at(END)));
}
const words = (rulings: readonly CupRuling[]) => rulings.map(({ ruling }) => ruling);
const EXPECTED = CUPS.map(({ ruling }) => ruling);

/** What a source of this computer says while the virtual clock runs, put into a store and a recording. */
async function listen(
  source: CarrierSource,
  clock: VirtualClock,
  meanwhile: { readonly atMs: number; readonly does: () => void }[] = [],
  untilMs: number = END,
): Promise<{ store: Store; recording: string }> {
  const store = newStore();
  const recording = path('jsonl');
  const anchor = { utc: clock.utc(), monotonic: clock.steady() };
  const tape = recordTo(recording, `${recording}.sqlite`, () => {});
  const writer = tape.of(
    recorder(store, anchor, carrier, () => {}),
    { name: source.name, carrier, anchor },
  );
  let events: CarrierEvent[] = [];
  const stop = new AbortController();
  await source.open();
  const running = source.run((event) => events.push(event), stop.signal);
  for (const { atMs, does } of [...meanwhile, { atMs: untilMs, does: () => stop.abort() }]) {
    await clock.run(atMs);
    does();
  }
  await clock.run(untilMs + minutes(1));
  await running;
  writer.record(events, at(END));
  events = [];
  tape.close();
  return { store, recording };
}

/** The tree of a Linux computer's bus with these probes on it. */
function linux(clock: VirtualClock): { tree: KernelTree; source: CarrierSource } {
  const tree = new KernelTree(clock);
  for (const { rom } of CUPS)
    tree.add({ rom, convert: () => ds18b20(felt(rom, clock.passed) * 16, tree.alarms.get(rom)) });
  const source = linuxOneWire({ clock, folder: tree.root, files: tree.files(), nextBoot: () => 1 });
  return { tree, source };
}
async function byLinux(
  meanwhile: (clock: VirtualClock) => { readonly atMs: number; readonly does: () => void }[] = () => [],
  untilMs: number = END,
  clock = new VirtualClock(START),
): Promise<{ store: Store; recording: string }> {
  const { tree, source } = linux(clock);
  const heard = await listen(source, clock, meanwhile(clock), untilMs);
  tree.discard();
  return heard;
}

/** The firmware's image on the emulated board, line by line. */
async function byBoard(): Promise<Store> {
  const store = newStore();
  let now = 0;
  const clock = { utc: () => at(now), steady: () => monotonicMs(now) };
  const writer = recorder(store, { utc: START, monotonic: monotonicMs(0) }, carrier, () => {});
  const events: CarrierEvent[] = [];
  const { input } = readLines(clock, (event) => events.push(event));
  for (const { atMs, bytes } of scenarioBoard(scenario, scenario.carriers[0]!).run(END)) {
    now = atMs;
    await new Promise<void>((resolve) => input.write(bytes, () => resolve()));
  }
  writer.record(events, at(END));
  return store;
}

/** A stock board that speaks the published protocol, over a wire without a port in between. */
async function byStock(): Promise<Store> {
  const clock = new VirtualClock(START);
  let toHost: (bytes: Uint8Array) => void = () => {};
  const peer = new FirmataPeer({
    clock,
    send: (bytes) => toHost(bytes),
    probes: CUPS.map(({ rom }) => ({ rom, temperature: () => felt(rom, clock.passed) * 16 })),
  });
  const open = (): Promise<ByteWire> => {
    let closed: (why: string) => void = () => {};
    return Promise.resolve({
      onData(take) {
        toHost = take;
        void clock.sleep(seconds(1)).then(() => peer.boot());
      },
      onClosed(take) {
        closed = take;
      },
      write: (bytes) => peer.receive(bytes as Uint8Array),
      close: (why) => closed(why),
    });
  };
  const source = stockBoard({
    clock,
    path: '/dev/stock',
    oneWirePins: [2],
    analog: [],
    open,
    nextBoot: () => 1,
  });
  return (await listen(source, clock)).store;
}

let board: CupRuling[];
let stock: CupRuling[];
let kernel: CupRuling[];
let replayed: CupRuling[];
beforeAll(async () => {
  board = rulingsOf(await byBoard());
  stock = rulingsOf(await byStock());
  // The wall clock is set forth and back meanwhile: that changes nothing.
  const HOURS_36 = minutes(36 * 60);
  const heard = await byLinux((clock) => [
    { atMs: minutes(15), does: () => clock.stepWallClock(HOURS_36) },
    { atMs: minutes(30), does: () => clock.stepWallClock(-2 * HOURS_36) },
  ]);
  const again = newStore();
  await replay(await checkRecording(heard.recording), again, () => {});
  kernel = rulingsOf(heard.store);
  replayed = rulingsOf(again);
});

describe('the same temperatures', () => {
  it('give the rulings that the rules say, through our board', () => expect(words(board)).toEqual(EXPECTED));
  it('give the same rulings through Linux 1-Wire, with the wall clock set by ±36 h meanwhile', () => {
    expect(words(kernel)).toEqual(EXPECTED);
    expect(kernel.flatMap(({ gaps }) => gaps)).toEqual([]);
  });
  it('give the same rulings through a stock board', () => expect(words(stock)).toEqual(EXPECTED));
  it('give the same rulings, figure by figure, through a replay', () => expect(replayed).toEqual(kernel));

  it('give the same minutes to within two scans', () => {
    const TWO_SCANS = 20 / 60;
    for (const [index, ruling] of [...kernel.entries(), ...stock.entries()]) {
      for (const part of ['certain', 'possible'] as const)
        expect(Math.abs(ruling.coldMinutes[part] - board[index]!.coldMinutes[part])).toBeLessThan(TWO_SCANS);
      expect(ruling.observedMinutes).toBeCloseTo(board[index]!.observedMinutes, 0);
    }
    expect(kernel[1]!.coldMinutes.certain).toBeGreaterThan(14);
  });
});

describe('a source that has only this computer’s clocks', () => {
  it('gives unproven, never valid, when the computer slept for a while', async () => {
    const { store } = await byLinux(
      (clock) => [{ atMs: minutes(30), does: () => clock.suspend(minutes(11)) }],
      END - minutes(11),
    );
    const rulings = rulingsOf(store);
    expect(words(rulings)).toEqual(['unproven', 'cold', 'unproven', 'unproven']);
    expect(rulings[0]!.gaps).toHaveLength(1);
    const [gap] = rulings[0]!.gaps;
    expect(Math.abs(gap!.to - gap!.from - minutes(11))).toBeLessThan(15_000);
  });

  it('would label what comes after too early, with a clock that stands still asleep', async () => {
    const clock = new VirtualClock(START);
    clock.steady = () => clock.monotonic();
    const { store } = await byLinux(
      () => [{ atMs: minutes(30), does: () => clock.suspend(minutes(11)) }],
      END - minutes(11),
      clock,
    );
    const [first] = rulingsOf(store);
    // The readings run on without a gap and end eleven minutes before the exposure does.
    expect(Math.abs(first!.gaps[0]!.from - at(END - minutes(11)))).toBeLessThan(15_000);
  });
});

describe('nextBoot()', () => {
  it('is above every boot on record of that board', async () => {
    const store = newStore();
    const boards = new Set<string>();
    for (const expected of [1, 2]) {
      const clock = new VirtualClock(START);
      const { tree, source } = linux(clock);
      const named = linuxOneWire({
        clock,
        folder: '/sys/bus/w1/devices',
        files: tree.files(),
        nextBoot: (board) => {
          boards.add(board);
          return nextBoot(store, board);
        },
      });
      expect(source.name).toBe(tree.root);
      const events: CarrierEvent[] = [];
      const stop = new AbortController();
      const running = named.run((event) => events.push(event), stop.signal);
      await clock.run(5_000);
      stop.abort();
      await clock.run(20_000);
      await running;
      recorder(store, { utc: START, monotonic: monotonicMs(0) }, carrier, () => {}).record(events, START);
      expect(events.find(({ kind }) => kind === 'boot')).toMatchObject({ bootCount: expected });
      tree.discard();
    }
    expect(boards.size).toBe(1);
    expect(nextBoot(store, 'FFFFFFFF' as never)).toBe(1);
  });
});
