import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { type Recorder, recorder } from '../../src/logger/recorder.js';
import { UNPLACED } from '../../src/store/logShelf.js';
import type { Store } from '../../src/store/store.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { scansPage, tablePage } from '../carrier/wire/pages.js';
import { eachInNewStore } from '../visit/newStore.js';
import { board, rom, START } from './oneBoard.js';

const ALL = [utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)] as const;
const SCANS = 6;
const PERIOD = 20_000;
const PAGE = SCANS * PERIOD;
/** Of two probes. */
const ROWS = 2 * SCANS;
/** Boot 1 began so long before START, when boot 2 did, which is being heard. */
const AGO = 86_400_000;

let store: Store;
/** Rows of readings that were written or taken away, and pages that were read, by what goes through the store. */
let done = { rows: 0, pages: 0 };
let writer: Recorder;
const counted = (plain: Store): Store => ({
  ...plain,
  addReadings(readings) {
    done.rows += readings.length;
    plain.addReadings(readings);
  },
  dropUnplaced(...scan) {
    const rows = plain.dropUnplaced(...scan);
    done.rows += rows;
    return rows;
  },
  pageAt(...place) {
    done.pages += 1;
    return plain.pageAt(...place);
  },
});
const open = () => recorder(counted(store), { utc: START, monotonic: monotonicMs(0) }, null, () => {});
eachInNewStore((fresh) => {
  store = fresh;
  done = { rows: 0, pages: 0 };
  writer = open();
  writer.record([booted], START);
}, START);

const head = {
  arrival: { utc: START, monotonic: monotonicMs(0) },
  boardMs: boardMs(0),
  board,
  bootCount: 2,
};
const booted: CarrierEvent = {
  kind: 'boot',
  ...head,
  resetCause: 'external',
  firmwareVersion: '0.3.0',
  protocolVersion: 3,
  clock: 'stopped',
};
const logged = (page: number, bytes: Uint8Array): CarrierEvent => ({
  kind: 'log-page',
  ...head,
  page,
  bytes,
});
/** The table of a boot whose clock had stopped. */
const table = logged(
  1,
  tablePage({
    ...{ page: 1, boot: 1, table: 1, boardMs: 1500, utcSeconds: 0, clock: 'S' },
    ...{ board: BOARD, roms: ROMS, nextScan: 2 },
  }),
);
/** The page of scans numbered `page`, from 2 on. */
const scans = (page: number) =>
  logged(
    page,
    scansPage({
      ...{ page, boot: 1, table: 1, firstMs: 1500 + (page - 2) * PAGE },
      ...{ firstScan: 2 + (page - 2) * SCANS, periodSeconds: PERIOD / 1000 },
      scans: Array.from({ length: SCANS }, () => [400, 380]),
    }),
  );
const range = (from: number, to: number) => Array.from({ length: to - from + 1 }, (_, index) => from + index);
const keep = (...events: CarrierEvent[]) => writer.record(events, START);
const keepPages = (from: number, to: number) => keep(...range(from, to).map(scans));
const takeIn = (most?: number) => writer.takeInLog(START, true, most);
/** What one more page comes to. */
const oneMore = (page: number) => {
  keepPages(page, page);
  done = { rows: 0, pages: 0 };
  takeIn();
  return { ...done };
};
const placed = () => store.readings(rom, ...ALL).filter(({ status }) => status !== UNPLACED);
/** A computer heard the first boot at a time of its counter. */
const heard = (ms: number) => store.keepHeard(board, 1, boardMs(ms), utcMs(START - AGO + ms));
/** The table is looked at each time, as it tells of the clock, and the page itself. */
const A_PAGE = { rows: ROWS, pages: 2 };

describe('a boot that nothing proves', () => {
  it('has each page read once, and each reading written once, however long it is', () => {
    keep(table);
    keepPages(2, 21);
    takeIn();
    expect(store.readings(rom, ...ALL)).toHaveLength(20 * SCANS);
    expect(placed()).toEqual([]);
    expect(oneMore(22)).toEqual(A_PAGE);
    keepPages(23, 300);
    takeIn();
    expect(oneMore(301)).toEqual(A_PAGE);
    expect(store.newestReading()!.id).toBe(300 * ROWS);
    done = { rows: 0, pages: 0 };
    takeIn();
    expect(done).toEqual({ rows: 0, pages: 1 });
    // A logger that starts anew knows it, too.
    writer = open();
    keep(booted);
    expect(oneMore(302)).toEqual(A_PAGE);
  });

  it('would have it all read and written again, were what it was read for forgotten (negative control)', () => {
    keep(table);
    keepPages(2, 21);
    takeIn();
    for (const page of range(2, 21)) {
      store.markRead(board, 1, { log: 0, page }, 0);
      for (const scan of range(0, SCANS - 1)) store.dropUnplaced(board, 1, 2 + (page - 2) * SCANS + scan);
    }
    expect(oneMore(22)).toEqual({ rows: 21 * ROWS, pages: 22 });
    expect(store.newestReading()!.id).toBe(41 * ROWS);
  });
});

describe('a boot of which a part can be proven', () => {
  it('has that part written anew once, and the rest left as it is', () => {
    keep(table);
    keepPages(2, 41);
    takeIn();
    // A counter that nobody has measured is good for some six minutes around one time.
    heard(12 * PAGE);
    done = { rows: 0, pages: 0 };
    takeIn();
    const part = placed();
    expect(part.length).toBeGreaterThan(3 * SCANS);
    expect(part.length).toBeLessThan(10 * SCANS);
    // Taken away, and added with their times, of two probes each.
    expect(done.rows).toBe(2 * 2 * part.length);
    expect(done.pages).toBeLessThan(12);
    for (const page of [42, 43, 44]) expect(oneMore(page)).toEqual(A_PAGE);
    expect(placed()).toEqual(part);
    // With a second time its pace is known, and so is all the rest.
    heard(40 * PAGE);
    done = { rows: 0, pages: 0 };
    takeIn();
    expect(placed()).toHaveLength(43 * SCANS);
    expect(done.rows).toBe(2 * 2 * (43 * SCANS - part.length));
    expect(
      placed()
        .slice(0, 4)
        .map((each) => each.utc - each.boardMs),
    ).toEqual(Array(4).fill(START - AGO));
    expect(oneMore(45)).toEqual(A_PAGE);
    expect(placed()).toHaveLength(44 * SCANS);
  });
});

describe('a table that comes late', () => {
  it('has the pages that waited for it read then, and not before', () => {
    keepPages(2, 9);
    expect(takeIn()).toMatchObject({ readings: 0, homelessScans: 8 * SCANS });
    expect(oneMore(10)).toEqual({ rows: 0, pages: 1 });
    keep(table);
    expect(takeIn()).toMatchObject({ readings: 9 * ROWS, homelessScans: 0 });
    expect(oneMore(11)).toEqual(A_PAGE);
  });
});

describe('a log that is read part by part', () => {
  const told = () => ({
    facts: store
      .facts()
      .map(({ fact: { at: _, ...fact } }) => ({ ...fact, store: undefined, zone: undefined })),
    readings: store.readings(rom, ...ALL),
    unread: [...store.unreadPages()],
  });
  it('comes to the same as one that is read at once, so many pages a call', () => {
    keep(table);
    keepPages(2, 30);
    heard(20 * PAGE);
    let [calls, readings] = [0, 0];
    for (let isPart = true; isPart; ) {
      done = { rows: 0, pages: 0 };
      const taken = takeIn(5);
      expect(done.rows).toBeLessThanOrEqual(5 * ROWS);
      [calls, readings, isPart] = [calls + 1, readings + taken.readings, taken.isPart ?? false];
    }
    expect([calls, readings]).toEqual([6, 29 * ROWS]);
    const parts = told();
    expect(parts.unread).toEqual([]);
    // The same pages in one call: their readings are there, and nothing is written.
    for (const page of range(1, 30)) store.markRead(board, 1, { log: 0, page }, 0);
    writer = open();
    keep(booted);
    done = { rows: 0, pages: 0 };
    expect(takeIn()).toMatchObject({ readings: 0, unplaced: 0 });
    expect(done).toEqual({ rows: 0, pages: 30 });
    expect(told()).toEqual(parts);
    expect(parts.facts.filter(({ type }) => type === 'boot-read')).toMatchObject([{ scans: 29 * SCANS }]);
  });

  it('goes on with pages that have come meanwhile, and with what another call had begun', () => {
    keep(table);
    keepPages(2, 10);
    expect(takeIn(4)).toMatchObject({ readings: 4 * ROWS, isPart: true });
    keepPages(11, 12);
    expect(takeIn(9)).toMatchObject({ readings: 5 * ROWS, isPart: true });
    expect(takeIn(9)).toEqual({ readings: 2 * ROWS, unplaced: 2 * ROWS, homelessScans: 0 });
    keepPages(13, 20);
    takeIn(3);
    // The link is lost: all that came is read as a part of the log.
    expect(writer.takeInLog(START, false)).toMatchObject({ readings: 5 * ROWS });
    expect([...store.unreadPages().values()]).toEqual([5]);
    done = { rows: 0, pages: 0 };
    expect(takeIn()).toMatchObject({ readings: 0 });
    expect(done).toEqual({ rows: 0, pages: 1 });
    expect([...store.unreadPages()]).toEqual([]);
  });
});
