import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { seconds, utcMs } from '../../src/units/time.js';
import { foldSeason } from '../../src/visit/season.js';
import { type End, FakePorts, talkingBoard } from '../carrier/fakePorts.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { ROMS } from '../carrier/wire/lines.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { type Logging, logging } from './logging.js';

const [A, B] = ['A', 'B'].map((name) => parseCarrierId(name)!);
const [one, two] = ['0A0A0A0A', '0B0B0B0B'] as const;

let store: Store;
let clock: VirtualClock;
let ports: FakePorts;
let said: string[];
let logger: Logging;
eachInNewFolder((folder) => {
  clock = new VirtualClock(utcMs(Date.UTC(2026, 4, 12, 12)));
  store = openStoreToWrite(join(folder, 'x.sqlite'), clock.utc());
  ports = new FakePorts(clock);
  said = [];
});
afterEach(async () => {
  await logger.stop();
  store.close();
});
const board = (id: string, boot: number) =>
  talkingBoard(clock, {
    id,
    boot,
    rom: id === one ? ROMS[0] : ROMS[1],
    sixteenths: id === one ? 400 : 300,
  });
async function begin(into = store): Promise<void> {
  const sources = [
    { source: serialBoard('/dev/one', clock, ports.access), carrier: A! },
    { source: serialBoard('/dev/two', clock, ports.access), carrier: B! },
  ];
  logger = await logging(into, clock, sources, (sentence, source) => said.push(`${source}: ${sentence}`));
}
const boards = () => {
  const { carriers } = foldSeason(store.facts());
  return [carriers.get(A!)?.board, carriers.get(B!)?.board];
};
/** Which board read each probe, and what. */
const read = () =>
  ROMS.map((rom) => {
    const readings = store.readings(parseRomId(rom)!, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER));
    return {
      times: readings.length,
      what: [...new Set(readings.map(({ board: by, raw }) => `${by} ${raw}`))],
    };
  });

describe('runLogger() with several boards', () => {
  it('keeps two boards apart, and goes on with one while the other is away', async () => {
    ports.plugIn('/dev/one', board(one, 1));
    ports.plugIn('/dev/two', board(two, 1));
    await begin();
    await clock.run(35_000);
    ports.unplug('/dev/one');
    await clock.run(95_000);
    expect(boards()).toEqual([one, two]);
    expect(read()).toEqual([
      { times: 3, what: [`${one} 400`] },
      { times: 9, what: [`${two} 300`] },
    ]);
  });

  it('leaves each board in its carrier when their ports changed places', async () => {
    ports.plugIn('/dev/one', board(one, 1));
    ports.plugIn('/dev/two', board(two, 1));
    await begin();
    await clock.run(15_000);
    ports.unplug('/dev/one');
    ports.unplug('/dev/two');
    ports.plugIn('/dev/one', board(two, 2));
    ports.plugIn('/dev/two', board(one, 2));
    await clock.run(40_000);
    expect(boards()).toEqual([one, two]);
    expect(said).toContain(
      `/dev/one: board ${two} is built into carrier B on record, though its port was given to carrier A; the record counts (carrier pair changes it)`,
    );
    expect(read().map(({ what }) => what)).toEqual([[`${one} 400`], [`${two} 300`]]);
    expect(read().every(({ times }) => times === 3)).toBe(true);
  });

  it('takes a board that was never bound into the carrier of its port', async () => {
    ports.plugIn('/dev/one', board(one, 1));
    ports.plugIn('/dev/two', board(two, 1));
    await begin();
    await clock.run(5_000);
    ports.unplug('/dev/one');
    ports.plugIn('/dev/one', board('0C0C0C0C', 1));
    await clock.run(20_000);
    expect(boards()).toEqual(['0C0C0C0C', two]);
  });

  /** What a board's readings are labelled and what is written while something else is on the other port. */
  async function beside(other: (end: End) => void) {
    let [transactions, counts] = [0, 0];
    const counting: Store = {
      ...store,
      transaction: (task) => {
        transactions += 1;
        return store.transaction(task);
      },
      countDiscard: (...args) => {
        counts += 1;
        store.countDiscard(...args);
      },
    };
    ports.plugIn('/dev/one', board(one, 1));
    ports.plugIn('/dev/two', other);
    await begin(counting);
    await clock.run(95_000);
    await logger.stop();
    const times = store
      .readings(parseRomId(ROMS[0])!, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER))
      .map(({ utc }) => utc);
    return { transactions, counts, times };
  }

  it('counts a flood of garbage on one port and writes nothing of it, and labels the other board as ever', async () => {
    // As fast as 38400 Bd can be: 3840 bytes a second.
    let lines = 0;
    const flood = await beside((end) =>
      clock.every(seconds(0.1), () => {
        if (!end.isOpen()) return;
        lines += 192;
        end.say('x\n'.repeat(192));
      }),
    );
    const start = Date.UTC(2026, 4, 12, 12);
    expect(flood.times.map((utc) => Math.round((utc - start) / 100))).toEqual(
      [...Array(9).keys()]
        .map((scan) => flood.times[0]! - start + scan * 10_000)
        .map((ms) => Math.round(ms / 100)),
    );
    expect(store.discards()).toEqual([{ reason: 'no-frame', times: lines, bytes: lines * 2 }]);
    expect(lines).toBeGreaterThan(180_000);
    // Once after a minute, and at the end.
    expect(flood.counts).toBe(2);
    // The lines of the board beside it, one each; a transaction that holds nothing touches no disk.
    expect(flood.transactions).toBeLessThan(200);
  });
});
