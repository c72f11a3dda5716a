import { join } from 'node:path';
import { expect, it } from 'vitest';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import { runLogger } from '../../src/logger/logger.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { formatInstant, minutes, seconds, utcMs } from '../../src/units/time.js';
import { boardDay } from '../../src/visit/boardDay.js';
import { bootTimeInWords } from '../../src/visit/boardInWords.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { ROMS } from '../carrier/wire/lines.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { boardPort } from './boardPort.js';

/** The real image, whose clock is wrong when it starts; read into two stores, one after the other, in the same boot. */
const NOON = utcMs(Date.UTC(2026, 4, 12, 12));
const BEHIND = minutes(90 * 24 * 60);
const rom = parseRomId(ROMS[0])!;

let folder: string;
let clock: VirtualClock;
eachInNewFolder((fresh) => {
  folder = fresh;
  clock = new VirtualClock(NOON);
});

/** What two stores hold after a board was alone for twenty minutes: the first one's logger sets its clock. */
async function inTwoStores<Result>(
  offMs: number,
  look: (store: Store, said: readonly string[]) => Result,
): Promise<Result[]> {
  const start = utcMs(NOON - offMs);
  const ports = boardPort({ clock, start, roms: [rom], temperature: () => 26, sramSeed: 1 });
  /** What the board says meanwhile is gone. */
  const unheard = async (ms: number) => {
    const wire = await ports.open('/dev/ours');
    await clock.run(clock.passed + ms);
    wire.close('');
  };
  await unheard(minutes(20));
  const found: Result[] = [];
  for (const name of ['first', 'second']) {
    const store = openStoreToWrite(join(folder, `${name}.sqlite`), clock.utc());
    const source = serialBoard('/dev/ours', clock, ports);
    await source.open();
    const stop = new AbortController();
    const said: string[] = [];
    const running = runLogger({
      store,
      whenUnwritable: 'end',
      sources: [{ source, carrier: parseCarrierId('A') }],
      clock,
      pid: process.pid,
      say: (sentence) => said.push(sentence),
      signal: stop.signal,
      withOpenPage: true,
    });
    await clock.run(clock.passed + seconds(40));
    stop.abort();
    await clock.run(clock.passed + seconds(5));
    await running;
    await unheard(seconds(1));
    found.push(look(store, said));
    store.close();
  }
  return found;
}

const look = (store: Store, said: readonly string[]) => {
  const all = store.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER));
  const used = all.filter(({ status }) => status === 'ok');
  return {
    scans: all.length,
    used: used.length,
    ofClock: said.flatMap((sentence) => /its clock .*/.exec(sentence)?.[0] ?? []),
    boots: boardDay(store, all[0]!.board, 0).boots.map((boot) => bootTimeInWords(boot, formatInstant)),
    first: formatInstant(used[0]!.utc),
    worstMs: Math.max(...used.map(({ utc, boardMs }) => Math.abs(utc - NOON - boardMs))),
    disproved: store
      .facts()
      .flatMap(({ fact }) => (fact.type === 'clock-disproved' ? [fact.differenceMs] : [])),
  };
};

it('takes no time of a clock that another store’s logger set since', async () => {
  const [first, second] = await inTwoStores(BEHIND, look);
  for (const { scans, used, worstMs } of [first!, second!]) {
    expect(scans).toBeGreaterThan(58);
    expect(used).toBeGreaterThan(10);
    expect(worstMs).toBeLessThan(2000);
  }
  // The one that set it saw by how much it was wrong until then.
  expect(first!.used).toBe(first!.scans);
  expect(first!.boots).toEqual([expect.stringMatching(/^time by host, within 1\.[0-9] s$/)]);
  // The other knows from the log only that it was set: what is too far from the setting is kept and not used.
  const { scans, used, first: from, boots } = second!;
  expect(used).toBeLessThan(40);
  // What is said of the boot as a whole is true of each of its scans.
  expect(boots).toEqual([
    `WHEN IS NOT PROVEN of ${scans - used} scans: kept, not used; ${used} are proven and used, from ${from} on`,
  ]);
  expect(second!.disproved.map((ms) => Math.round(ms / minutes(1)))).toEqual([-BEHIND / minutes(1)]);
  expect(first!.ofClock).toEqual([
    expect.stringMatching(
      /^its clock was 90\.0 days behind this computer's, and is set: from 2026-02-11T\S+ to 2026-05-12T\S+$/,
    ),
  ]);
  expect(second!.ofClock).toEqual([
    expect.stringMatching(/^its clock was 90\.0 days behind what its counter comes to, and was set since: /),
  ]);
});

it('takes all where the clock was right (negative control)', async () => {
  for (const { scans, used, worstMs, disproved, ofClock, boots } of await inTwoStores(0, look)) {
    expect(used).toBe(scans);
    expect(worstMs).toBeLessThan(2000);
    expect([disproved, ofClock]).toEqual([[], []]);
    expect(boots).toEqual([expect.stringMatching(/^time by [a-z]+, within [01]\.\d s$/)]);
  }
});
