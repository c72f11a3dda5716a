import { describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/store.js';
import { openStoreToWrite } from '../../src/store/store.js';
import { parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { minutes, seconds, utcMs } from '../../src/units/time.js';
import { manyRoms } from '../emulator/bench.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { Lockstep, type LockstepOptions } from './lockstep.js';

/** The real image, with memory and clock chip: a ride alone, before and after which the computer's clock is not the same. */
const START = utcMs(Date.UTC(2026, 4, 12, 12));
const ALONE = minutes(20);
const DAY = minutes(24 * 60);
const carrier = parseCarrierId('A')!;
const roms = manyRoms(12).map((rom) => parseRomId(rom)!);

let folder: string;
let ours: Store;
const opened: Store[] = [];
eachInNewFolder((fresh) => {
  folder = fresh;
  ours = newStore('ours');
});
function newStore(name: string): Store {
  const store = openStoreToWrite(`${folder}/${name}`, START);
  opened.push(store);
  return store;
}

interface Day {
  readonly morningOffMs: number;
  readonly eveningOffMs: number;
  readonly resets: boolean;
  readonly aloneMs?: number;
  readonly board?: Partial<LockstepOptions>;
  /** While it is alone. */
  readonly meanwhile?: (bench: Lockstep) => Promise<void>;
}

/** A right session before, so that the clock was compared; the morning; the ride; the evening, in which all is read. */
async function day(given: Day) {
  const { morningOffMs, eveningOffMs, resets, aloneMs = ALONE, board = {}, meanwhile } = given;
  const bench = new Lockstep({ start: START, roms, temperature: () => 25, ...board });
  const said: string[] = [];
  const begun = [0];
  const plugIn = (offMs: number, reset: boolean) => {
    bench.hostOffMs = offMs;
    if (reset) begun.push(bench.ms);
    return bench.plugIn(ours, carrier, { reset, withOpenPage: true, say: (sentence) => said.push(sentence) });
  };
  plugIn(0, false);
  await bench.run(minutes(2));
  bench.comeOff();
  plugIn(morningOffMs, resets);
  await bench.run(bench.ms + minutes(1));
  bench.comeOff();
  await bench.run(bench.ms + aloneMs / 2);
  await meanwhile?.(bench);
  await bench.run(bench.ms + aloneMs / 2);
  const evening = bench.ms;
  said.length = 0;
  const { talk } = plugIn(eveningOffMs, resets);
  await bench.run(bench.ms + minutes(3), () => talk.isCaughtUp());
  expect(talk.isCaughtUp()).toBe(true);
  bench.comeOff();
  const ppm = board.crystalPpm ?? 0;
  const all = ours.readings(roms[0]!, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)).map((each) => {
    const realMs = begun[each.boot - 1]! + each.boardMs / (1 + ppm / 1e6);
    return { ...each, realMs, offMs: each.utc - START - realMs };
  });
  const disproved = ours.facts().filter(({ fact }) => fact.type === 'clock-disproved').length;
  return { ride: all.filter(({ realMs }) => realMs > minutes(3) && realMs < evening), said, disproved };
}

/** How far the times of readings lie from those of a computer that was off by so much, at worst. */
const worst = (ride: readonly { readonly offMs: number }[], offMs: number) =>
  Math.max(...ride.map((each) => Math.abs(each.offMs - offMs)));

describe('a computer that was moved during the ride', () => {
  it.each([
    ['4 s ahead in the morning', { morningOffMs: seconds(4), eveningOffMs: 0, resets: true }],
    ['a day behind in the evening', { morningOffMs: 0, eveningOffMs: -DAY, resets: true }],
    ['2 s behind in the morning', { morningOffMs: -seconds(2), eveningOffMs: 0, resets: true }],
    [
      '25 s behind in the morning, on a resonator that goes on when its port is opened',
      { morningOffMs: -seconds(25), eveningOffMs: 0, resets: false, board: { crystalPpm: 2000 } },
    ],
    [
      '60 s ahead in the evening, on a board that goes on when its port is opened',
      { morningOffMs: 0, eveningOffMs: seconds(60), resets: false },
    ],
    ['right all day (negative control)', { morningOffMs: 0, eveningOffMs: 0, resets: true }],
  ] satisfies [string, Day][])('takes no reading of it: %s', async (_when, given) => {
    const { ride, said, disproved } = await day(given);
    expect(ride.length).toBeGreaterThan(55);
    expect(ride.filter(({ status }) => status !== 'ok')).toEqual([]);
    // As the computer had it that the crew's times were taken by.
    expect(worst(ride, given.morningOffMs)).toBeLessThan(2000);
    expect(disproved).toBe(0);
    const byMs = given.eveningOffMs - given.morningOffMs;
    const isTold = byMs !== 0;
    const off = new RegExp(
      `this computer's clock is \\S+ \\S+ ${byMs < 0 ? 'behind' : 'ahead of'} what it was`,
    );
    expect(said.filter((sentence) => off.test(sentence))).toHaveLength(isTold ? 1 : 0);
    expect(isTold && /its clock was/.test(said.join())).toBe(false);
  });
});

describe('where no clock goes on', () => {
  it('nobody knows when the ride was, which two computers saw at two times (negative control)', async () => {
    const { ride } = await day({
      morningOffMs: 0,
      eveningOffMs: DAY,
      resets: false,
      board: { withoutClock: true },
    });
    expect(ride.length).toBeGreaterThan(55);
    expect(ride.filter(({ status }) => status === 'ok')).toEqual([]);
  });

  it.each([
    ['10 s', seconds(10)],
    ['3 s, which no counter of unknown pace shows', seconds(3)],
    ['a day', DAY],
  ])('since a stranger set it by %s, it counts before and, by its error, after', async (_by, byMs) => {
    const theirs = newStore('theirs');
    const meanwhile = async (bench: Lockstep) => {
      bench.hostOffMs = byMs;
      bench.plugIn(theirs, carrier, { reset: false, withOpenPage: true });
      await bench.run(bench.ms + minutes(1));
      bench.comeOff();
    };
    const { ride } = await day({ morningOffMs: 0, eveningOffMs: 0, resets: false, meanwhile });
    const used = ride.filter(({ status }) => status === 'ok');
    expect(used.length).toBeGreaterThan(55);
    expect(worst(used, 0)).toBeLessThan(2000);
  });
});

describe('a stranger who sets the clock soon after a probe was found', () => {
  it.each([
    ['leaves proven what was until then', seconds(8)],
    ['as one who sets nothing leaves all (negative control)', 0],
  ])('%s', async (_what, byMs) => {
    const found = minutes(32);
    const loose = { kind: 'loose-lead', rom: roms[2]!, fromMs: 0, toMs: found } as const;
    const theirs = newStore('theirs');
    const { ride, disproved } = await day({
      ...{
        morningOffMs: 0,
        eveningOffMs: 0,
        resets: true,
        aloneMs: minutes(60),
        board: { roms: roms.slice(0, 3), faults: [loose] },
      },
      async meanwhile(bench) {
        bench.hostOffMs = byMs;
        bench.plugIn(theirs, carrier, { reset: false, withOpenPage: true });
        await bench.run(bench.ms + minutes(1));
        bench.comeOff();
      },
    });
    const used = ride.filter(({ status }) => status === 'ok');
    const before = ride.filter(({ realMs }) => realMs < found);
    expect(before.length).toBeGreaterThan(80);
    expect(before.filter(({ status }) => status !== 'ok')).toEqual([]);
    expect(used.length === ride.length).toBe(byMs === 0);
    expect(worst(used, 0)).toBeLessThan(2000);
    expect(disproved).toBe(0);
  });
});

describe('a board with few probes, whose pages are long', () => {
  it('has its times proven to both ends of a short boot', async () => {
    const board = { roms: roms.slice(0, 3) };
    const bench = new Lockstep({ start: START, temperature: () => 25, ...board });
    await bench.run(minutes(15));
    const { talk } = bench.plugIn(ours, carrier, { reset: true, withOpenPage: true });
    await bench.run(bench.ms + minutes(3), () => talk.isCaughtUp());
    const ride = ours
      .readings(roms[0]!, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER))
      .filter(({ boot }) => boot === 1);
    expect(ride.length).toBeGreaterThan(43);
    expect(ride.filter(({ status }) => status !== 'ok')).toEqual([]);
    expect(Math.max(...ride.map(({ utc, boardMs }) => Math.abs(utc - START - boardMs)))).toBeLessThan(2000);
  });
});
