import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { UNMEASURED } from '../../src/exposure/pace.js';
import { boardHistory } from '../../src/logger/boardHistory.js';
import { evidenceOf } from '../../src/logger/bootEvidence.js';
import { type Recorder, recorder } from '../../src/logger/recorder.js';
import type { Store } from '../../src/store/store.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { scansPage, tablePage } from '../carrier/wire/pages.js';
import { board, eachWithRecorder, rom, START } from './oneBoard.js';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
/** Scans of a page, and from one of them to the next. */
const SCANS = 6;
const PERIOD = 20_000;
const PAGE = SCANS * PERIOD;

let store: Store;
let writer: Recorder;
eachWithRecorder((...fresh) => {
  [store, writer] = fresh;
});

/** A boot of the board: it began at `zero`, and its clock was off by so much at each time of its counter. */
interface Boot {
  readonly boot: number;
  readonly zero: number;
  readonly clockOff: (ms: number) => number;
  /** How often hosts had set it; never when absent. */
  readonly sets?: (ms: number) => number;
}
/** Heard by this host `ms` after START. */
const head = ({ boot, zero }: Boot, ms: number) => ({
  arrival: { utc: utcMs(START + ms), monotonic: monotonicMs(ms) },
  boardMs: boardMs(START + ms - zero),
  board,
  bootCount: boot,
});
const booted = (boot: Boot, ms = 0): CarrierEvent => ({
  kind: 'boot',
  ...head(boot, ms),
  resetCause: 'external',
  firmwareVersion: '0.3.0',
  protocolVersion: 3,
  clock: 'running',
});
const clock = (boot: Boot, ms = 10): CarrierEvent => {
  const at = head(boot, ms);
  const utc = utcMs(toldBy(boot, at.boardMs) * 1000);
  return { kind: 'clock', ...at, clock: 'running', utc, sets: setsOf(boot, at.boardMs) };
};
const setsOf = ({ sets }: Boot, ms: number): number => sets?.(ms) ?? 0;
/** The second that has begun by the board's clock. */
const toldBy = ({ zero, clockOff }: Boot, ms: number) => Math.floor((zero + ms + clockOff(ms)) / 1000);

let number = 0;
/** The pages of a boot from its beginning to `until`, with a table at each of `tables`. */
function pages(boot: Boot, live: Boot, until: number, tables: readonly number[]): CarrierEvent[] {
  const events: CarrierEvent[] = [];
  const add = (make: (page: number) => Uint8Array) => {
    number += 1;
    events.push({ kind: 'log-page', ...head(live, 20), page: number, bytes: make(number) });
  };
  for (let first = PERIOD; first + PAGE <= until; first += PAGE) {
    const firstScan = first / PERIOD + 1;
    for (const at of tables.filter((each) => each <= first && each > first - PAGE))
      add((page) =>
        tablePage({
          page,
          boot: boot.boot,
          table: 1,
          boardMs: at,
          utcSeconds: toldBy(boot, at),
          sets: setsOf(boot, at),
          clock: 'R',
          board: BOARD,
          roms: ROMS,
          nextScan: firstScan,
        }),
      );
    add((page) =>
      scansPage({
        page,
        boot: boot.boot,
        table: 1,
        firstMs: first,
        firstScan,
        periodSeconds: PERIOD / 1000,
        second: toldBy(boot, first) % 15,
        sets: setsOf(boot, first),
        scans: Array.from({ length: SCANS }, () => [400, 380]),
      }),
    );
  }
  return events;
}
const readings = () => store.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER));
const used = () => readings().filter(({ status }) => status === 'ok');
const told = (type: string) => store.facts().flatMap(({ fact }) => (fact.type === type ? [fact] : []));
/** How far readings of these boots that are used lie from when they were taken, at worst. */
const worst = (...boots: readonly Boot[]) =>
  Math.max(
    ...boots.flatMap(({ boot, zero }) =>
      used().flatMap((each) => (each.boot === boot ? [Math.abs(each.utc - zero - each.boardMs)] : [])),
    ),
  );
/** A clock that was 90 days and 4 s behind until it was set, right before the table at `at`. */
const setAt = (at: number) => ({
  clockOff: (ms: number) => (ms >= at ? 0 : -90 * DAY - 4000),
  sets: (ms: number) => (ms >= at ? 1 : 0),
});
/** Of the boots after it. */
const SINCE = { clockOff: () => 0, sets: () => 1 };

describe('a board whose clock was set by another store’s logger', () => {
  it('is placed, in the boot that goes on, by what its counter does not contradict', () => {
    const SET = PERIOD + 9 * PAGE;
    const live: Boot = { boot: 1, zero: START - 20 * MINUTE - 30_000, ...setAt(SET) };
    const log = pages(live, live, 20 * MINUTE + 20_000, [PERIOD, SET]);
    writer.record([booted(live), clock(live), ...log], START);
    writer.takeInLog(START, true);
    expect(readings()).toHaveLength(60);
    expect(used().length).toBeGreaterThan(12);
    expect(worst(live)).toBeLessThan(2000);
    // Twenty minutes from what is right an unmeasured counter may be 6 s off: those are kept and not used.
    expect(readings()[0]).toMatchObject({ status: 'unplaced' });
    expect(Math.abs(readings()[0]!.utc - live.zero - PERIOD)).toBeLessThan(1000);
    expect(told('boot-read')).toMatchObject([{ provenBy: 'nothing', withinMs: null }]);
    const [disproved, ...more] = told('clock-disproved');
    expect(more).toEqual([]);
    expect(disproved).toMatchObject({ boot: 1, boardMs: PERIOD });
    expect((disproved as { differenceMs: number }).differenceMs / DAY).toBeCloseTo(-90, 3);
    // Said once.
    writer.takeInLog(START, true);
    expect(told('clock-disproved')).toHaveLength(1);
  });

  it('is placed wholly where nobody set the clock (negative control)', () => {
    const live: Boot = { boot: 1, zero: START - 20 * MINUTE - 30_000, clockOff: () => 0 };
    writer.record([booted(live), clock(live), ...pages(live, live, 20 * MINUTE + 20_000, [PERIOD])], START);
    writer.takeInLog(START, true);
    expect(used()).toHaveLength(60);
    expect(worst(live)).toBeLessThan(2000);
    expect(told('clock-disproved')).toEqual([]);
    expect(told('boot-read')).toMatchObject([{ provenBy: 'host' }]);
  });

  it('is placed, in an earlier boot, by what the clock told since it was set', () => {
    const SET = PERIOD + 29 * PAGE;
    const alone: Boot = { boot: 2, zero: START - 3 * HOUR, ...setAt(SET) };
    const before: Boot = { boot: 1, zero: START - 5 * HOUR, ...setAt(Number.POSITIVE_INFINITY) };
    const live: Boot = { boot: 3, zero: START, ...SINCE };
    const log = [...pages(before, live, HOUR, [PERIOD]), ...pages(alone, live, 2 * HOUR, [PERIOD, SET])];
    writer.record([booted(live), clock(live), ...log], START);
    writer.takeInLog(START, true);
    expect(used().every(({ boot }) => boot === 2)).toBe(true);
    // All since the setting; before it, (2 s - 0.7 s) / 1000 ppm, the pace having been measured since: 65 scans.
    const since = used().filter(({ boardMs: at }) => at >= SET);
    expect(since).toHaveLength(30 * SCANS);
    expect(used().length - since.length).toBe(65);
    expect(worst(alone)).toBeLessThan(2000);
    // The comparison that found the clock right says nothing of the boot before it was set.
    expect(readings().filter(({ boot, status }) => boot === 1 && status === 'unplaced')).toHaveLength(
      readings().filter(({ boot }) => boot === 1).length,
    );
    expect(told('clock-disproved')).toMatchObject([{ boot: 2, boardMs: PERIOD }]);
  });
});

describe('a host that heard a boot late', () => {
  it('proves its beginning no better than the counter tells from the line that it heard', () => {
    // With a clock that runs at no pace that a clock has: after twenty minutes it is known to 6 s when the board was started.
    const live: Boot = {
      boot: 1,
      zero: START - 20 * MINUTE - 30_000,
      clockOff: (ms) => -DAY + Math.round(ms / 100),
    };
    const log = pages(live, live, 20 * MINUTE + 20_000, [PERIOD]);
    writer.record([booted(live), clock(live), ...log], START);
    writer.takeInLog(START, true);
    expect(told('boot-read')).toMatchObject([{ provenBy: 'nothing', withinMs: null }]);
    // (2 s - 0.2 s) / 5000 ppm = 6 min before the line.
    const since = 20 * MINUTE + 30_000 - 1800 / 5000e-6;
    expect(used().map(({ boardMs: at }) => at)).toEqual(
      readings()
        .map(({ boardMs: at }) => at)
        .filter((at) => at >= since),
    );
    expect(used().length).toBeGreaterThan(10);
    expect(told('board-booted')).toMatchObject([{ boardMs: START - live.zero, at: live.zero }]);
  });

  it('does not take a first line that was read late for proof, at once or later', () => {
    const RAN = 20 * MINUTE;
    const live: Boot = { boot: 1, zero: START - RAN, clockOff: () => -DAY };
    const late = { ...booted(live), arrival: { utc: utcMs(START + 5000), monotonic: monotonicMs(5000) } };
    const beats = [6, 7, 8].map((s): CarrierEvent => ({ kind: 'heartbeat', ...head(live, s * 1000) }));
    const log = pages(live, live, RAN, [PERIOD]);
    writer.record([late], utcMs(START + 5000));
    writer.record([...beats, ...log.slice(0, -1)], utcMs(START + 9000));
    writer.takeInLog(utcMs(START + 9000), true);
    expect(used().length).toBeGreaterThan(5);
    expect(worst(live)).toBeLessThan(200);
    // Another logger of the same store, before it hears a scan.
    const again = recorder(store, { utc: START, monotonic: monotonicMs(0) }, null, () => {});
    again.record([booted(live, HOUR), ...log.slice(-1)], utcMs(START + HOUR));
    again.takeInLog(utcMs(START + HOUR), true);
    expect(used().length).toBe(readings().length);
    expect(worst(live)).toBeLessThan(200);
  });

  it('proves it to the precision of a line when it heard the first one (negative control)', () => {
    const live: Boot = { boot: 1, zero: START, clockOff: () => -DAY };
    writer.record([booted(live), clock(live, 3 * MINUTE)], START);
    writer.record(pages(live, live, 3 * MINUTE, [PERIOD]), START);
    writer.takeInLog(utcMs(START + 3 * MINUTE), true);
    expect(told('boot-read')).toMatchObject([{ provenBy: 'host', withinMs: 200 }]);
  });
});

describe('a clock that was found wrong by the host that set it, in the boot that logged alone', () => {
  const LENGTH = 3 * HOUR;
  /** So much that its seconds are others than the right ones, too. */
  const OFF = -90 * DAY - 4321;
  /** All is read from the log, in the boot that goes on; the clock is compared when the host comes. */
  function read(live: Boot, tables: readonly number[] = [PERIOD]) {
    writer.record([booted(live), clock(live), ...pages(live, live, LENGTH, tables)], START);
    writer.takeInLog(START, true);
  }
  const began = START - LENGTH - PAGE;

  it('places all of the boot, by its own error the other way', () => {
    const live: Boot = { boot: 1, zero: began, clockOff: () => OFF };
    read(live);
    expect(used().length).toBe((LENGTH - PERIOD) / PERIOD - (((LENGTH - PERIOD) / PERIOD) % SCANS));
    expect(readings()).toHaveLength(used().length);
    expect(worst(live)).toBeLessThan(2000);
    expect(told('boot-read')).toMatchObject([{ provenBy: 'host' }]);
  });

  it.each([
    [
      'ran at another pace than the counter',
      { boot: 1, zero: began, clockOff: (ms) => OFF + ms / 1000 },
      [PERIOD],
    ],
    [
      'was set by somebody else on the way',
      {
        ...{ boot: 1, zero: began },
        clockOff: (ms) => (ms > HOUR ? OFF : 0),
        sets: (ms) => (ms > HOUR ? 1 : 0),
      },
      [PERIOD, PERIOD + 30 * PAGE],
    ],
  ] satisfies [string, Boot, number[]][])(
    'places no more than the counter tells when it %s (negative control)',
    (_why, live, tables) => {
      read(live, tables);
      // From the setting on it goes on to where it was found wrong.
      const isSince = ({ boardMs: at }: { boardMs: number }) => tables.length > 1 && at >= tables[1]!;
      expect(used().filter(isSince)).toEqual(readings().filter(isSince));
      expect(used().filter((each) => !isSince(each)).length).toBeLessThan(40);
      expect(worst(live)).toBeLessThan(2000);
    },
  );

  it('places no other boot by it (negative control)', () => {
    const alone: Boot = { boot: 1, zero: began, clockOff: () => OFF };
    const live: Boot = { boot: 2, zero: START - 1000, clockOff: () => OFF };
    writer.record([booted(live), clock(live), ...pages(alone, live, LENGTH, [PERIOD])], START);
    writer.takeInLog(START, true);
    expect(readings().length).toBeGreaterThan(500);
    expect(used()).toEqual([]);
  });
});

describe('a log of which not all has come, or not all can be read', () => {
  const SET = PERIOD + 29 * PAGE;
  const right: Boot = { boot: 2, zero: START - 3 * HOUR, clockOff: () => 0 };
  const live: Boot = { boot: 3, zero: START, clockOff: () => 0 };
  /** The boot before, in which a host found the clock right, or wrong by so much; the board logged for some minutes more. */
  function morning(offMs = 0): CarrierEvent[] {
    const boot: Boot = { boot: 1, zero: START - 4 * HOUR, clockOff: () => offMs };
    const at = START - 4 * HOUR + PERIOD + 30_000 - START;
    writer.record([booted(boot, at), clock(boot, at)], utcMs(START + at));
    return pages(boot, live, 8 * MINUTE, [PERIOD]);
  }
  const ofRight = () => used().filter(({ boot }) => boot === 2);

  it.each([
    ['a host found it right before', 0, (log: CarrierEvent[]) => log],
    ['pages are missing since then', 0, (log: CarrierEvent[]) => log.toSpliced(1, 2)],
    ['nobody found it right before', null, (log: CarrierEvent[]) => log],
    ['a moved computer found it wrong before', 5000, (log: CarrierEvent[]) => log],
  ])('is placed by a clock that was not set since, where %s', (_why, offMs, without) => {
    const log = offMs === null ? [] : without(morning(offMs));
    writer.record([booted(live), clock(live), ...log, ...pages(right, live, 2 * HOUR, [PERIOD])], START);
    expect(writer.takeInLog(START, false).unplaced).toBe(0);
    expect(ofRight()).toHaveLength(354);
    expect(worst(right)).toBeLessThan(2000);
  });

  it.each([
    [20, 1],
    [20, 2],
    [10, 4],
  ])('is placed across pages that are missing on the way (from page %i on, %i)', (from, count) => {
    const log = pages(right, live, 2 * HOUR, [PERIOD]).toSpliced(from, count);
    writer.record([booted(live), clock(live), ...log], START);
    writer.takeInLog(START, true);
    expect(used()).toHaveLength(354 - count * SCANS);
    expect(worst(right)).toBeLessThan(2000);
  });

  it.each([
    [3, 354],
    [5, 0],
  ])(
    'is placed by a clock that was first found right %i days later as far as it cannot have run off: %i scans',
    (days, scans) => {
      const boot: Boot = { ...right, zero: START - days * DAY };
      writer.record([booted(live), clock(live), ...pages(boot, live, 2 * HOUR, [PERIOD])], START);
      writer.takeInLog(START, true);
      // 5 ppm of 4.6 days are 2 s.
      expect(used()).toHaveLength(scans);
      expect(readings()).toHaveLength(354);
    },
  );

  it.each([
    // The pages before: a table, and 29 of scans.
    ['has not come', (log: CarrierEvent[]) => log.slice(0, 30)],
    ['cannot be read', (log: CarrierEvent[]) => log.toSpliced(30, 1)],
  ])('takes no time of a clock that was set, as the page tells that %s', (_why, without) => {
    const alone: Boot = { ...right, ...setAt(SET) };
    const since: Boot = { ...live, ...SINCE };
    const log = without(pages(alone, since, 2 * HOUR, [PERIOD, SET]));
    writer.record([booted(since), clock(since), ...log], START);
    writer.takeInLog(START, true);
    expect(readings().length).toBeGreaterThan(150);
    expect(used()).toEqual([]);
  });

  it('is placed when the rest has come', () => {
    const alone: Boot = { ...right, ...setAt(SET) };
    const since: Boot = { ...live, ...SINCE };
    const log = pages(alone, since, 2 * HOUR, [PERIOD, SET]);
    writer.record([booted(since), clock(since), ...log.slice(0, 30)], START);
    writer.takeInLog(START, false);
    writer.record(log.slice(30), START);
    writer.takeInLog(START, true);
    expect(used().length).toBeGreaterThan(30 * SCANS);
    expect(worst(alone)).toBeLessThan(2000);
  });

  it.each([
    ['does not count how often it is set', { sets: () => 0 }, 1],
    ['counts it', {}, 0],
  ])('would take them, an hour off, from a board that %s (negative control)', (_which, counts, hoursOff) => {
    const alone: Boot = { ...right, ...setAt(SET), clockOff: (ms) => (ms >= SET ? 0 : -HOUR), ...counts };
    const since: Boot = { ...live, ...SINCE, ...counts };
    const come = pages(alone, since, 2 * HOUR, [PERIOD, SET]).slice(0, 30);
    writer.record([booted(since), clock(since), ...come], START);
    writer.takeInLog(START, true);
    expect(Math.max(0, worst(alone)) / HOUR).toBeCloseTo(hoursOff, 1);
  });
});

describe('a boot of weeks', () => {
  it('has its end found among more scans than a call takes arguments', () => {
    const page = {
      kind: 'scans',
      log: 0,
      table: 1,
      probes: 1,
      setsLow: 0,
      isOwn: true,
      second: null,
      scans: 2,
      state: 0,
    } as const;
    const scans = Array.from({ length: 200_000 }, (_, index) => ({
      ...{ ...page, page: index, firstScan: 2 * index, periodMs: 5000 },
      ...{ boardMs: boardMs(index * 10_000), lastMs: boardMs(index * 10_000 + 5000) },
    }));
    const found = evidenceOf({
      ...{ store, board, boot: 1, live: null, marks: [], known: UNMEASURED },
      history: boardHistory(store),
      log: { tables: [], scans, unowned: [], others: [] },
      goesOn: { isUnset: () => true },
    });
    expect(found.lastMs).toBe(199_999 * 10_000 + 5000);
  });
});
