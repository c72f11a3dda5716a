import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import type { CarrierSource } from '../../src/carrier/source.js';
import { runLogger } from '../../src/logger/logger.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseCarrierId, parseRomId, type RomId } from '../../src/units/ids.js';
import { minutes, utcMs } from '../../src/units/time.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { manyRoms } from '../emulator/bench.js';
import { boardPort } from './boardPort.js';

/** Four carriers of ten probes each, the real image on each board, for many hours under one logger. */
const HOURS = Number(process.env['STILLWARM_HOURS'] ?? 0.25);
const CARRIERS = ['A', 'B', 'C', 'D'];
const PROBES = 10;
const START = utcMs(Date.UTC(2026, 4, 12, 12));
/** The looks: after the start has settled, halfway, and at the end, as 5, 15 and 30 are of 30 hours. */
const LOOKS = [HOURS / 6, HOURS / 2, HOURS];
/** What a logger may keep more at the end than at the first look: page numbers, boots, a little of the engine's own. */
const GROWTH_MAX_MIB = 2;

setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;

let folder: string;
let store: Store;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-long-'));
  store = openStoreToWrite(join(folder, 'x.sqlite'), START);
});
afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true });
});

interface Look {
  readonly hour: number;
  readonly heapMiB: number;
  readonly residentMiB: number;
  /** The logger's work since the look before, as a share of the time that passed; the boards' own is left out. */
  readonly cpuShare: number;
  readonly readings: number;
}

const cpuSeconds = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};

/** @param tap lets a test stand between a source and the logger */
async function longRun(tap: (source: CarrierSource) => CarrierSource = (source) => source): Promise<Look[]> {
  const clock = new VirtualClock(START);
  const roms = manyRoms(CARRIERS.length * PROBES).map((text) => parseRomId(text)!);
  let boards = 0;
  const around = (run: () => void) => {
    const before = cpuSeconds();
    run();
    boards += cpuSeconds() - before;
  };
  const temperature = (rom: RomId, ms: number) => 24 + 6 * Math.sin(ms / 400_000 + roms.indexOf(rom));
  const sources = CARRIERS.map((name, index) => {
    const own = roms.slice(index * PROBES, (index + 1) * PROBES);
    const ports = boardPort({ clock, start: START, roms: own, temperature, sramSeed: index + 1, around });
    return { source: tap(serialBoard(`/dev/${name}`, clock, ports)), carrier: parseCarrierId(name) };
  });
  for (const { source } of sources) await source.open();
  const stop = new AbortController();
  const running = runLogger({ store, sources, clock, pid: process.pid, say: () => {}, signal: stop.signal });
  const looks: Look[] = [];
  let [from, spent] = [0, cpuSeconds() - boards];
  for (const hour of LOOKS) {
    await clock.run(minutes(hour * 60));
    const now = cpuSeconds() - boards;
    collect();
    const { heapUsed, rss } = process.memoryUsage();
    looks.push({
      hour,
      heapMiB: heapUsed / 2 ** 20,
      residentMiB: rss / 2 ** 20,
      cpuShare: (now - spent) / ((hour - from) * 3600),
      readings: store.readingCount(),
    });
    [from, spent] = [hour, cpuSeconds() - boards];
    if (process.env['STILLWARM_HOURS']) process.stderr.write(`${JSON.stringify(looks.at(-1))}\n`);
  }
  stop.abort();
  await clock.run(clock.monotonic() + 60_000);
  await running;
  return looks;
}
const grown = (looks: readonly Look[]) => looks.at(-1)!.heapMiB - looks[0]!.heapMiB;

describe('runLogger() with four carriers', () => {
  it(`keeps no more at the end of ${HOURS} h than at the beginning, and all readings`, async () => {
    const looks = await longRun();
    expect(grown(looks)).toBeLessThan(GROWTH_MAX_MIB);
    // A scan of each carrier every ten seconds; the first ones come when the boards have found their probes.
    const expected = CARRIERS.length * PROBES * HOURS * 360;
    expect(looks.at(-1)!.readings).toBeGreaterThan(expected - CARRIERS.length * PROBES * 3);
    expect(looks.at(-1)!.readings).toBeLessThanOrEqual(expected);
    expect(store.brokenAt()).toBeNull();
    expect(store.discards()).toEqual([]);
  }, 3_600_000);

  // Negative control: whoever keeps what was heard is found out.
  it('is found out when it keeps every event', async () => {
    const kept: CarrierEvent[] = [];
    const leaking = (source: CarrierSource): CarrierSource => ({
      ...source,
      run: (onEvent, signal) =>
        source.run((event) => {
          kept.push(event, ...Array.from({ length: 20 }, () => ({ ...event })));
          onEvent(event);
        }, signal),
    });
    expect(grown(await longRun(leaking))).toBeGreaterThan(GROWTH_MAX_MIB);
    expect(kept.length).toBeGreaterThan(0);
  }, 3_600_000);
});
