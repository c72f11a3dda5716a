import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { type Recorder, recorder } from '../../src/logger/recorder.js';
import type { Store } from '../../src/store/store.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';
import { NOT_COMMISSIONED } from '../../src/visit/commissioned.js';
import { observations } from '../../src/visit/exposures.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { scansPage, tablePage } from '../carrier/wire/pages.js';
import { board, eachWithRecorder, rom, START } from './oneBoard.js';

const ALL = [utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)] as const;

let store: Store;
let writer: Recorder;
eachWithRecorder((...fresh) => {
  [store, writer] = fresh;
});

/** The host is plugged in at START; the present boot is the second one. */
const head = (ms = 0) => ({
  arrival: { utc: utcMs(START + ms), monotonic: monotonicMs(ms) },
  boardMs: boardMs(ms),
  board,
  bootCount: 2,
});
const booted: CarrierEvent = {
  kind: 'boot',
  ...head(),
  resetCause: 'external',
  firmwareVersion: '0.3.0',
  protocolVersion: 3,
  clock: 'running',
};
/** The board's clock as it is heard, so many ms off. */
const clock = (offMs: number | null): CarrierEvent => ({
  kind: 'clock',
  ...head(10),
  clock: offMs === null ? 'stopped' : 'running',
  utc: offMs === null ? null : utcMs(START + offMs - 500),
  sets: 0,
});
const page = (bytes: Uint8Array, number: number): CarrierEvent => ({
  kind: 'log-page',
  ...head(20),
  page: number,
  bytes,
});
/** Boot 1 began an hour before START, by the board's own clock. */
const HOUR = 3_600_000;
const table = (utcSeconds: number, writtenBy = BOARD) =>
  page(
    tablePage({
      page: 1,
      boot: 1,
      table: 1,
      boardMs: 1500,
      utcSeconds,
      clock: utcSeconds === 0 ? 'S' : 'R',
      board: writtenBy,
      roms: ROMS,
      nextScan: 2,
    }),
    1,
  );
const ITS_CLOCK = (START - HOUR) / 1000;
const scans = (count = 3, number = 2, firstScan = 2) =>
  page(
    scansPage({
      page: number,
      boot: 1,
      table: 1,
      firstMs: 1500 + (firstScan - 2) * 20_000,
      firstScan,
      periodSeconds: 20,
      scans: Array.from({ length: count }, (_, index) => [400 + index, index === 1 ? 'M' : 380]),
    }),
    number,
  );
const readings = () => store.readings(rom, ...ALL);
const lastRead = () => store.facts().findLast(({ fact }) => fact.type === 'boot-read')?.fact;

describe('takeInLog()', () => {
  it('reads pages into readings at the times of the board’s clock', () => {
    writer.record([booted, clock(0), table(ITS_CLOCK), scans()], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 6, unplaced: 0, homelessScans: 0 });
    expect(readings().map(({ scan, raw, status, utc }) => [scan, raw, status, utc - START + HOUR])).toEqual([
      [2, 400, 'ok', 500],
      [3, 401, 'ok', 20_500],
      [4, 402, 'ok', 40_500],
    ]);
    expect(lastRead()).toMatchObject({ boot: 1, scans: 3, provenBy: 'clock', resetCause: 'power-on' });
  });

  it.each([
    ['pages bear the clock’s second', true],
    ['they do not (negative control)', false],
  ])('places the scans of a counter that is 4000 ppm fast where %s', (_name, hasSeconds) => {
    const PAGES = 90;
    const truth = (ms: number) => START - 3 * HOUR + 500 + (ms - 1500) / 1.004;
    writer.record([booted, clock(0), table((START - 3 * HOUR) / 1000)], START);
    for (let index = 0; index < PAGES; index += 1) {
      const [firstMs, firstScan] = [1500 + index * 120_000, 2 + index * 6];
      const second = Math.floor(truth(firstMs) / 1000) % 15;
      const bytes = scansPage({
        page: 2 + index,
        boot: 1,
        table: 1,
        firstMs,
        firstScan,
        periodSeconds: 20,
        ...(hasSeconds && { second }),
        scans: Array.from({ length: 6 }, () => [400, 380]),
      });
      writer.record([page(bytes, 2 + index)], START);
    }
    const { readings: added, unplaced } = writer.takeInLog(START, true);
    expect(added).toBe(PAGES * 12);
    expect(unplaced > 0).toBe(!hasSeconds);
    const proven = readings().filter(({ status }) => status === 'ok');
    for (const { boardMs: at, utc } of proven) expect(Math.abs(utc - truth(at))).toBeLessThan(2000);
    expect(proven.length > PAGES * 5).toBe(hasSeconds);
  });

  it('proves no time by a counter that came round', () => {
    const late = scansPage({
      page: 2,
      boot: 1,
      table: 1,
      firstMs: 2 ** 32 - 30_000,
      firstScan: 200_000,
      periodSeconds: 20,
      scans: Array.from({ length: 5 }, () => [400, 380]),
    });
    writer.record([booted, clock(0), table(ITS_CLOCK), page(late, 2)], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 10, unplaced: 10, homelessScans: 0 });
    expect(readings().map(({ boardMs: at }) => at)).toEqual([
      10_000,
      30_000,
      50_000,
      2 ** 32 - 30_000,
      2 ** 32 - 10_000,
    ]);
    expect(observations(readings(), NOT_COMMISSIONED)).toEqual([]);
  });

  it('adds nothing when the same pages come again, or a longer state of one', () => {
    writer.record([booted, clock(0), table(ITS_CLOCK), scans(2)], START);
    writer.takeInLog(START, true);
    const facts = store.head().count;
    writer.record([table(ITS_CLOCK), scans(2)], START);
    expect(writer.takeInLog(START, true).readings).toBe(0);
    expect(store.head().count).toBe(facts);
    writer.record([scans(3)], START);
    expect(writer.takeInLog(START, true).readings).toBe(2);
    expect(readings().map(({ scan }) => scan)).toEqual([2, 3, 4]);
  });

  it.each([
    ['a board without a time', 0, 0],
    ['a clock that was found to be wrong', ITS_CLOCK, 5000],
    ['a clock that has stopped since and was never compared', ITS_CLOCK, null],
  ])('keeps the readings of %s, and uses none', (_name, utcSeconds, offMs) => {
    writer.record([booted, clock(offMs), table(utcSeconds), scans()], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 6, unplaced: 6, homelessScans: 0 });
    expect(readings()).toHaveLength(3);
    expect(observations(readings(), NOT_COMMISSIONED)).toEqual([]);
    expect(readings().map(({ raw }) => raw)).toEqual([400, 401, 402]);
    expect(lastRead()).toMatchObject({ provenBy: 'nothing', withinMs: null });
    // Asked again without news, it says nothing again.
    const facts = store.head().count;
    writer.takeInLog(START, true);
    expect(store.head().count).toBe(facts);
  });

  it('uses them as soon as their time can be proven', () => {
    writer.record([booted, table(0), scans()], START);
    expect(writer.takeInLog(START, true).unplaced).toBe(6);
    writer.record([clock(0), page(tablePageOf(ITS_CLOCK), 7)], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 0, unplaced: -6, homelessScans: 0 });
    expect(observations(readings(), NOT_COMMISSIONED)).toHaveLength(3);
    expect(lastRead()).toMatchObject({ provenBy: 'clock' });
  });

  it('keeps what a host heard live, and adds only what it missed', () => {
    const live: CarrierEvent = {
      kind: 'scan',
      ...head(0),
      bootCount: 1,
      boardMs: boardMs(21_500),
      scan: 3,
      table: 1,
      readings: [{ rom, index: 0, raw: 401, status: 'ok' }],
    };
    writer.record(
      [{ ...booted, bootCount: 1 } as CarrierEvent, live, booted, clock(0), table(ITS_CLOCK), scans()],
      START,
    );
    const [heard] = readings();
    writer.takeInLog(START, true);
    expect(
      readings()
        .map(({ scan }) => scan)
        .sort(),
    ).toEqual([2, 3, 4]);
    expect(readings().find(({ scan }) => scan === 3)).toEqual(heard);
  });

  it('never guesses whose scans they are when their table is lost', () => {
    writer.record([booted, clock(0), scans()], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 0, unplaced: 0, homelessScans: 3 });
    writer.record([table(ITS_CLOCK)], START);
    expect(writer.takeInLog(START, true).readings).toBe(6);
  });

  it('reads both of two pages that a boot gave under one number, and says so once', () => {
    const said: string[] = [];
    const anchor = { utc: START, monotonic: monotonicMs(0) };
    writer = recorder(store, anchor, null, (sentence) => said.push(sentence));
    // Of a memory that was put in while the board ran, and that has gone on with its own numbers.
    const [one, other] = [scans(3), scans(3, 2, 5)];
    // Of two memories pages may be missing, so that not the clock proves the boot, but a host that heard it.
    const first = { rom, index: 0, raw: 400, status: 'ok' };
    const live = { kind: 'scan', ...head(), bootCount: 1, scan: 1, table: 1, readings: [first] };
    writer.record(
      [{ ...booted, bootCount: 1 } as CarrierEvent, live as CarrierEvent, booted, clock(0)],
      START,
    );
    writer.record([table(ITS_CLOCK), one, scans(2, 3, 8)], START);
    writer.record([other, one, scans(1, 3, 10), scans(2, 3, 10)], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 20, unplaced: 0, homelessScans: 0 });
    expect(readings().map(({ scan }) => scan)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]);
    expect(store.pagesOf(board, 1).map(({ page: number }) => number)).toEqual([1, 2, 2, 3, 3]);
    expect(said.filter((sentence) => /is another than the one kept/.test(sentence))).toEqual([
      `board ${BOARD}: page 2 of boot 1 is another than the one kept under that number (its memory was replaced while it ran?); both are kept and read`,
    ]);
  });

  it.each([
    ['another board', '0A1B2C3E', 0],
    ['this board (negative control)', BOARD, 10],
  ])('reads pages as this board’s that a memory brought along, written by %s', (_whose, writtenBy, read) => {
    const said: string[] = [];
    writer = recorder(store, { utc: START, monotonic: monotonicMs(0) }, null, (sentence) =>
      said.push(sentence),
    );
    writer.record([booted, clock(0), table(ITS_CLOCK, writtenBy), scans(), scans(2, 3, 5)], START);
    expect(writer.takeInLog(START, true).readings).toBe(read);
    expect(readings()).toHaveLength(read / 2);
    // Kept, and not looked at again.
    expect(store.pagesOf(board, 1)).toHaveLength(3);
    expect(store.unreadBoots(board)).toEqual([]);
    writer.record([table(ITS_CLOCK, writtenBy)], START);
    expect(said.filter((sentence) => /was written by board/.test(sentence))).toEqual(
      read > 0
        ? []
        : [
            `board ${BOARD}: page 1 of boot 1 was written by board 0A1B2C3E (its memory was in that board before?); such pages are kept and not read as this board's`,
          ],
    );
  });

  it('keeps scans that may be another board’s until the page is here that shows whose they are', () => {
    const foreign = page(
      tablePage({
        ...{ page: 30, boot: 1, table: 1, boardMs: 1500, utcSeconds: ITS_CLOCK, clock: 'R' },
        ...{ board: '0A1B2C3E', roms: ROMS, nextScan: 2 },
      }),
      30,
    );
    const log = [table(ITS_CLOCK), scans(3, 2, 2), scans(3, 4, 8)];
    writer.record([booted, clock(0), ...log, foreign], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 6, unplaced: 0, homelessScans: 3 });
    writer.record([scans(3, 3, 5)], START);
    expect(writer.takeInLog(START, true)).toEqual({ readings: 12, unplaced: 0, homelessScans: 0 });
  });

  it.each([
    ['while its memory does not answer', 'ram', 1],
    ['when it answers again (negative control)', 'memory', 0],
  ])('takes a log that came in part for no whole one %s', (_when, place, unread) => {
    const state = {
      kind: 'log-state',
      ...head(),
      store: place,
      oldest: 1,
      open: 9,
      acknowledged: 0,
      room: 2,
    };
    writer.record([booted, clock(0), table(ITS_CLOCK), scans(), state as CarrierEvent], START);
    expect(writer.takeInLog(START, true)).toMatchObject({ readings: 6, unplaced: 0 });
    expect(store.unreadPages().size).toBe(unread);
  });

  it('keeps one page only where it comes again, or has grown (negative control)', () => {
    const said: string[] = [];
    const anchor = { utc: START, monotonic: monotonicMs(0) };
    writer = recorder(store, anchor, null, (sentence) => said.push(sentence));
    writer.record([booted, clock(0), table(ITS_CLOCK), scans(2), scans(3), scans(3), scans(2)], START);
    expect(writer.takeInLog(START, true).readings).toBe(6);
    expect(store.pagesOf(board, 1)).toHaveLength(2);
    expect(said.filter((sentence) => /is another/.test(sentence))).toEqual([]);
  });

  it('records a mark of an earlier boot once, at its time', () => {
    const mark: CarrierEvent = {
      kind: 'mark',
      ...head(30),
      mark: 0,
      markBoot: 1,
      markMs: boardMs(61_500),
      utc: null,
      sets: 0,
    };
    writer.record([booted, clock(0), table(ITS_CLOCK), scans(), mark], START);
    writer.takeInLog(START, true);
    writer.record([mark], START);
    writer.takeInLog(START, true);
    const marks = store.facts().flatMap(({ fact }) => (fact.type === 'mark-stamped' ? [fact] : []));
    expect(marks.map(({ isProven, at }) => [isProven, at - START + HOUR])).toEqual([[true, 60_500]]);
  });
});

const tablePageOf = (utcSeconds: number) =>
  tablePage({
    page: 7,
    boot: 1,
    table: 1,
    boardMs: 1500,
    utcSeconds,
    clock: 'R',
    board: BOARD,
    roms: ROMS,
    nextScan: 5,
  });
