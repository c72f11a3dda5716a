import { describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/store.js';
import { minutes, seconds, utcMs } from '../../src/units/time.js';
import { eachInNewStore } from '../visit/newStore.js';
import { carrier, inventedRom, OPENED } from '../visit/situation.js';
import { Lockstep } from './lockstep.js';

const roms = Array.from({ length: 10 }, (_, index) => inventedRom(index + 1));
/** Seven scans of ten probes fill a page; RAM keeps two pages and the open one. */
const SCANS_A_PAGE = 7;

describe('a board without its memory, whose port is opened again: that restarts it', () => {
  let store: Store;
  eachInNewStore((fresh) => {
    store = fresh;
  }, OPENED);

  /** What a host gets out of RAM after some time; another may have listened in the first minute. */
  async function readAfter(aloneMinutes: number, wasHeardBefore: boolean) {
    const board = new Lockstep({ start: OPENED, roms, temperature: () => 30, withoutMemory: true });
    if (wasHeardBefore) {
      board.plugIn(store, carrier, { reset: false, withOpenPage: false });
      await board.run(minutes(1));
      board.unplug();
    }
    await board.run(minutes(1 + aloneMinutes));
    const opened = board.utc();
    const { talk, taken } = board.plugIn(store, carrier, { reset: true, withOpenPage: true });
    await board.run(board.ms + minutes(2), () => talk.isCaughtUp());
    await board.run(board.ms + seconds(5));
    const alone = store
      .readings(roms[0]!, utcMs(OPENED + minutes(2)), utcMs(opened + minutes(1)))
      .filter(({ boot }) => boot === 1);
    return {
      homelessScans: taken().homelessScans,
      statuses: [...new Set(alone.map(({ status }) => status))],
      scans: alone.length,
      newestAgo: opened - (alone.at(-1)?.utc ?? 0),
      pages: store.pagesOf(talk.board!, 1).length,
    };
  }

  it('gives its last minutes, at their times, when a host heard that boot a quarter of an hour ago', async () => {
    const { homelessScans, statuses, scans, newestAgo } = await readAfter(15, true);
    expect(homelessScans).toBe(0);
    expect(statuses).toEqual(['ok']);
    expect(scans).toBeGreaterThan(2 * SCANS_A_PAGE);
    expect(scans).toBeLessThanOrEqual(3 * SCANS_A_PAGE);
    expect(newestAgo).toBeLessThan(minutes(0.5));
  });

  it('gives them without a time, which is said and not used, when that was longer ago', async () => {
    const { homelessScans, statuses, scans } = await readAfter(30, true);
    expect(homelessScans).toBe(0);
    expect(statuses).toEqual(['unplaced']);
    expect(scans).toBeGreaterThan(2 * SCANS_A_PAGE);
  });

  it('gives pages that are kept, of probes nobody knows, when no host heard that boot', async () => {
    const { homelessScans, scans, pages } = await readAfter(30, false);
    expect(homelessScans).toBeGreaterThan(2 * SCANS_A_PAGE);
    expect(scans).toBe(0);
    expect(pages).toBe(3);
  });
});
