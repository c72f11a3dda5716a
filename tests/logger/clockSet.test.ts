import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import { runLogger } from '../../src/logger/logger.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { minutes, seconds, utcMs } from '../../src/units/time.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { ROMS } from '../carrier/wire/lines.js';
import { boardPort } from './boardPort.js';

/** The real image, whose clock is wrong when it starts; read into two stores, one after the other, in the same boot. */
const NOON = utcMs(Date.UTC(2026, 4, 12, 12));
const BEHIND = minutes(90 * 24 * 60);
const rom = parseRomId(ROMS[0])!;

let folder: string;
let clock: VirtualClock;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-set-'));
  clock = new VirtualClock(NOON);
});
afterEach(() => rmSync(folder, { recursive: true }));

/** What two stores hold after a board was alone for twenty minutes: the first one's logger sets its clock. */
async function inTwoStores<Result>(offMs: number, look: (store: Store) => Result): Promise<Result[]> {
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
    const running = runLogger({
      store,
      whenUnwritable: 'end',
      sources: [{ source, carrier: parseCarrierId('A') }],
      clock,
      pid: process.pid,
      say: () => {},
      signal: stop.signal,
      withOpenPage: true,
    });
    await clock.run(clock.passed + seconds(40));
    stop.abort();
    await clock.run(clock.passed + seconds(5));
    await running;
    await unheard(seconds(1));
    found.push(look(store));
    store.close();
  }
  return found;
}

const look = (store: Store) => {
  const all = store.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER));
  const used = all.filter(({ status }) => status === 'ok');
  return {
    scans: all.length,
    used: used.length,
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
    // Not all: what is too far from the setting is kept and not used.
    expect(used).toBeLessThan(40);
    expect(worstMs).toBeLessThan(2000);
  }
  expect(second!.disproved.map((ms) => Math.round(ms / minutes(1)))).toEqual([-BEHIND / minutes(1)]);
});

it('takes all where the clock was right (negative control)', async () => {
  for (const { scans, used, worstMs, disproved } of await inTwoStores(0, look)) {
    expect(used).toBe(scans);
    expect(worstMs).toBeLessThan(2000);
    expect(disproved).toEqual([]);
  }
});
