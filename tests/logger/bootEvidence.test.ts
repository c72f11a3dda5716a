import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { type Recorder, recorder } from '../../src/logger/recorder.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseBoardId, parseRomId } from '../../src/units/ids.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { scansPage, tablePage } from '../carrier/wire/pages.js';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const START = utcMs(Date.UTC(2026, 4, 12, 12));
const board = parseBoardId(BOARD)!;
const rom = parseRomId(ROMS[0])!;
/** Scans of a page, and from one of them to the next. */
const SCANS = 6;
const PERIOD = 20_000;
const PAGE = SCANS * PERIOD;

let folder: string;
let store: Store;
let writer: Recorder;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-evidence-'));
  store = openStoreToWrite(join(folder, 'x.sqlite'), START);
  writer = recorder(store, { utc: START, monotonic: monotonicMs(0) }, null, () => {});
});
afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true });
});

/** A boot of the board: it began at `zero`, and its clock was off by so much at each time of its counter. */
interface Boot {
  readonly boot: number;
  readonly zero: number;
  readonly clockOff: (ms: number) => number;
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
  firmwareVersion: '0.2.0',
  protocolVersion: 2,
  clock: 'running',
});
const clock = (boot: Boot, ms = 10): CarrierEvent => {
  const at = head(boot, ms);
  const utc = utcMs(toldBy(boot, at.boardMs) * 1000);
  return { kind: 'clock', ...at, clock: 'running', utc };
};
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
        scans: Array.from({ length: SCANS }, () => [400, 380]),
      }),
    );
  }
  return events;
}
const readings = () => store.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER));
const used = () => readings().filter(({ status }) => status === 'ok');
const told = (type: string) => store.facts().flatMap(({ fact }) => (fact.type === type ? [fact] : []));
/** How far readings that are used lie from when they were taken, at worst. */
const worst = (...boots: readonly Boot[]) =>
  Math.max(
    ...used().map((each) =>
      Math.abs(each.utc - boots.find(({ boot }) => boot === each.boot)!.zero - each.boardMs),
    ),
  );
/** A clock that was 90 days and 4 s behind until it was set, right before the table at `setAt`. */
const setAt = (at: number) => (ms: number) => (ms >= at ? 0 : -90 * DAY - 4000);

describe('a board whose clock was set by another store’s logger', () => {
  it('is placed, in the boot that goes on, by what its counter does not contradict', () => {
    const SET = PERIOD + 9 * PAGE;
    const live: Boot = { boot: 1, zero: START - 20 * MINUTE - 30_000, clockOff: setAt(SET) };
    const log = pages(live, live, 20 * MINUTE + 20_000, [PERIOD, SET]);
    writer.record([booted(live), clock(live), ...log], START);
    writer.takeInLog(START);
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
    writer.takeInLog(START);
    expect(told('clock-disproved')).toHaveLength(1);
  });

  it('is placed wholly where nobody set the clock (negative control)', () => {
    const live: Boot = { boot: 1, zero: START - 20 * MINUTE - 30_000, clockOff: () => 0 };
    writer.record([booted(live), clock(live), ...pages(live, live, 20 * MINUTE + 20_000, [PERIOD])], START);
    writer.takeInLog(START);
    expect(used()).toHaveLength(60);
    expect(worst(live)).toBeLessThan(2000);
    expect(told('clock-disproved')).toEqual([]);
    expect(told('boot-read')).toMatchObject([{ provenBy: 'host' }]);
  });

  it('is placed, in an earlier boot, by what the clock told since it was set', () => {
    const SET = PERIOD + 29 * PAGE;
    const alone: Boot = { boot: 2, zero: START - 3 * HOUR, clockOff: setAt(SET) };
    const before: Boot = { boot: 1, zero: START - 5 * HOUR, clockOff: setAt(Number.POSITIVE_INFINITY) };
    const live: Boot = { boot: 3, zero: START, clockOff: () => 0 };
    const log = [...pages(before, live, HOUR, [PERIOD]), ...pages(alone, live, 2 * HOUR, [PERIOD, SET])];
    writer.record([booted(live), clock(live), ...log], START);
    writer.takeInLog(START);
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
    // Without a clock: after twenty minutes it is known to 6 s when the board was started.
    const live: Boot = { boot: 1, zero: START - 20 * MINUTE - 30_000, clockOff: () => -DAY };
    const log = pages(live, live, 20 * MINUTE + 20_000, [PERIOD]);
    writer.record([booted(live), clock(live), ...log], START);
    writer.takeInLog(START);
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

  it('proves it to the precision of a line when it heard the first one (negative control)', () => {
    const live: Boot = { boot: 1, zero: START, clockOff: () => -DAY };
    writer.record([booted(live), clock(live, 3 * MINUTE)], START);
    writer.record(pages(live, live, 3 * MINUTE, [PERIOD]), START);
    writer.takeInLog(utcMs(START + 3 * MINUTE));
    expect(told('boot-read')).toMatchObject([{ provenBy: 'host', withinMs: 200 }]);
  });
});
