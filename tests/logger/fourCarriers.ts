import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import type { CarrierSource } from '../../src/carrier/source.js';
import type { Store } from '../../src/store/store.js';
import { parseCarrierId, parseRomId, type RomId } from '../../src/units/ids.js';
import { minutes, utcMs } from '../../src/units/time.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { manyRoms } from '../emulator/bench.js';
import { boardPort } from './boardPort.js';
import { logging } from './logging.js';

/** Four carriers of ten probes each, the real image on each board, for many hours under one logger. */
export const CARRIERS = ['A', 'B', 'C', 'D'];
export const PROBES = 10;
export const START = utcMs(Date.UTC(2026, 4, 12, 12));

setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;

export interface Look {
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

/**
 * @param hours when to look
 * @param tap lets a test stand between a source and the logger
 */
export async function longRun(
  store: Store,
  hours: readonly number[],
  tap: (source: CarrierSource) => CarrierSource = (source) => source,
): Promise<Look[]> {
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
  const logger = await logging(store, clock, sources);
  const looks: Look[] = [];
  let [from, spent] = [0, cpuSeconds() - boards];
  for (const hour of hours) {
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
  await logger.stop();
  return looks;
}
