import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { minutes, utcMs } from '../../src/units/time.js';
import { manyRoms } from '../emulator/bench.js';
import { Lockstep } from './lockstep.js';

/** The real image: somebody else's computer is plugged in, which restarts the board, and may set its clock before anything is logged. */
const START = utcMs(Date.UTC(2026, 4, 12, 12));
const MONTHS = minutes(90 * 24 * 60);
const ALONE = minutes(15);
const carrier = parseCarrierId('A')!;
const roms = manyRoms(12).map((rom) => parseRomId(rom)!);
let folder: string;
let ours: Store;
let theirs: Store;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-start-'));
  ours = openStoreToWrite(join(folder, 'ours'), START);
  theirs = openStoreToWrite(join(folder, 'theirs'), START);
});
afterEach(() => {
  ours.close();
  theirs.close();
  rmSync(folder, { recursive: true });
});

/** The readings that we have of a boot: how many there are, how many count, and how far these are off at worst, in ms. */
function ofBoot(boot: number, zero: number) {
  const all = ours
    .readings(roms[0]!, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER))
    .filter((each) => each.boot === boot);
  const used = all.filter(({ status }) => status !== 'unplaced');
  const worst = Math.max(0, ...used.map(({ utc, boardMs }) => Math.abs(utc - START - zero - boardMs)));
  return { all: all.length, used: used.length, isAtItsTime: worst < 2000 };
}

/** Alone, perhaps with them plugged in for a minute, alone, and read by us; gives when the boots began. */
async function day(options: { behind: number; isOursBefore: boolean; isTheirs: boolean }) {
  const bench = new Lockstep({
    ...{ start: START, roms, temperature: () => 25, clockBehindMs: options.behind },
  });
  if (options.isOursBefore) {
    bench.plugIn(ours, carrier, { reset: false, withOpenPage: false });
    await bench.run(minutes(1));
    bench.comeOff();
  }
  await bench.run(ALONE);
  const second = bench.ms;
  if (options.isTheirs) {
    bench.plugIn(theirs, carrier, { reset: true, withOpenPage: true });
    await bench.run(bench.ms + minutes(1));
    bench.comeOff();
  } else bench.board.reset('external');
  await bench.run(bench.ms + ALONE);
  const { talk } = bench.plugIn(ours, carrier, { reset: true, withOpenPage: true });
  await bench.run(bench.ms + minutes(3), () => talk.isCaughtUp());
  expect(talk.isCaughtUp()).toBe(true);
  return [0, second] as const;
}

describe('a clock that may have been set before the first scan of a boot', () => {
  it('proves nothing of the boots before, which it would place months off', async () => {
    const [first, second] = await day({ behind: MONTHS, isOursBefore: false, isTheirs: true });
    expect(ofBoot(1, first)).toMatchObject({ used: 0 });
    expect(ofBoot(1, first).all).toBeGreaterThan(40);
    const since = ofBoot(2, second);
    expect(since).toMatchObject({ used: since.all, isAtItsTime: true });
    expect(since.all).toBeGreaterThan(40);
  });

  it.each([
    ['our own host had found it right before', { behind: 0, isOursBefore: true, isTheirs: true }],
    ['it was right and they did not set it', { behind: 0, isOursBefore: false, isTheirs: true }],
    ['no boot began with a host (negative control)', { behind: 0, isOursBefore: false, isTheirs: false }],
  ])('proves them where %s', async (_why, options) => {
    const [first, second] = await day(options);
    for (const found of [ofBoot(1, first), ofBoot(2, second)]) {
      expect(found).toMatchObject({ used: found.all, isAtItsTime: true });
      expect(found.all).toBeGreaterThan(40);
    }
  });
});

/** We, they and we again, each in a boot of its own and with the cable on all the time. */
async function neverAlone({ offMs, aloneFirst }: { offMs: number; aloneFirst: boolean }) {
  const bench = new Lockstep({ start: START, roms, temperature: () => 25 });
  const begun: number[] = [];
  const plugIn = (store: Store, off: number) => {
    bench.hostOffMs = off;
    begun.push(bench.ms);
    return bench.plugIn(store, carrier, { reset: true, withOpenPage: true });
  };
  plugIn(ours, 0);
  await bench.run(minutes(4));
  bench.comeOff();
  if (aloneFirst) {
    await bench.run(bench.ms + ALONE);
    plugIn(ours, 0);
    await bench.run(bench.ms + minutes(4));
    bench.comeOff();
  }
  const boot = begun.length + 1;
  plugIn(theirs, offMs);
  await bench.run(bench.ms + ALONE);
  bench.comeOff();
  const { talk } = plugIn(ours, 0);
  await bench.run(bench.ms + minutes(3), () => talk.isCaughtUp());
  expect(talk.isCaughtUp()).toBe(true);
  return ofBoot(boot, begun.at(-2)!);
}

describe('somebody else, whose computer is a minute off, between two sessions of ours', () => {
  it.each([
    ['was never alone', { offMs: 60_000, aloneFirst: false }],
    ['was alone before all that is to be read', { offMs: 60_000, aloneFirst: true }],
  ])('proves nothing of theirs on a board that %s', async (_which, options) => {
    const theirs = await neverAlone(options);
    expect(theirs.all).toBeGreaterThan(80);
    expect(theirs.used).toBe(0);
  });

  it('has theirs proven by our next comparison where it was right (negative control)', async () => {
    const theirs = await neverAlone({ offMs: 0, aloneFirst: false });
    expect(theirs.all).toBeGreaterThan(80);
    expect(theirs).toMatchObject({ used: theirs.all, isAtItsTime: true });
  });
});
