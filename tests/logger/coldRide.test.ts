import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import type { Recorder } from '../../src/logger/recorder.js';
import type { Store } from '../../src/store/store.js';
import { parseRomId } from '../../src/units/ids.js';
import { boardMs, minutes, monotonicMs, seconds, utcMs } from '../../src/units/time.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { scansPage, tablePage } from '../carrier/wire/pages.js';
import { board, eachWithRecorder, rom, START } from './oneBoard.js';

/**
 * A resonator that is near its nominal pace in the warm lab, where it is heard for 4 h, and slower in the cold, where it rides
 * alone for 3 h. Its clock chip is right all the while, or set on the way. Then the board is read, which restarts it.
 */
const HOUR = minutes(60);
const [LAB_ENDS, READ] = [4 * HOUR, 7 * HOUR + minutes(5)];
const PERIOD = seconds(20);
const SCANS = 6;

let store: Store;
let writer: Recorder;
eachWithRecorder((...fresh) => {
  [store, writer] = fresh;
});

/** A boot that begins `zero` ms after START and runs so many ppm fast. */
class Boot {
  constructor(
    readonly boot: number,
    readonly zero: number,
    readonly ppm: number,
  ) {}
  board = (ms: number): number => Math.round((ms - this.zero) * (1 + this.ppm / 1e6));
  real = (at: number): number => this.zero + at / (1 + this.ppm / 1e6);
  head = (ms: number) => ({
    arrival: { utc: utcMs(START + ms), monotonic: monotonicMs(ms) },
    ...{ boardMs: boardMs(this.board(ms)), board, bootCount: this.boot },
  });
}

/** A clock that is off is one that was set, once. */
const setsOf = (clockOffMs: number) => (clockOffMs === 0 ? 0 : 1);

function hear(boot: Boot, from: number, to: number, clockOffMs = 0): void {
  const utc = utcMs(Math.floor((START + from + clockOffMs) / 1000) * 1000);
  const told = { resetCause: 'external', firmwareVersion: '0.3.0', protocolVersion: 3, clock: 'running' };
  const probes = ROMS.map((each, index) => ({ index, rom: parseRomId(each)! }));
  writer.record(
    [
      { kind: 'boot', ...boot.head(from), ...told } as CarrierEvent,
      { kind: 'probes', ...boot.head(from), table: 1, probes },
      { kind: 'clock', ...boot.head(from), clock: 'running', utc, sets: setsOf(clockOffMs) },
    ],
    utcMs(START + from),
  );
  for (let ms = from, scan = 1; ms < to; ms += seconds(10), scan += 1)
    writer.record(
      [
        { kind: 'heartbeat', ...boot.head(ms) },
        {
          ...{ kind: 'scan', ...boot.head(ms), scan, table: 1 },
          readings: [{ rom, index: 0, raw: 400, status: 'ok' }],
        } as CarrierEvent,
      ],
      utcMs(START + ms),
    );
}

/** The pages of a ride; its clock is off by so much at a moment, and set where that changes. */
function pagesOf(ride: Boot, by: Boot, clockOffMs: (ms: number) => number): CarrierEvent[] {
  const events: CarrierEvent[] = [];
  const second = (at: number) => Math.floor((START + ride.real(at) + clockOffMs(ride.real(at))) / 1000);
  const add = (make: (page: number) => Uint8Array) => {
    const page = events.length + 1;
    events.push({ kind: 'log-page', ...by.head(READ + seconds(10)), page, bytes: make(page) });
  };
  let off = Number.NaN;
  for (let first: number = PERIOD, scan = 2; ride.real(first + SCANS * PERIOD) < READ; scan += SCANS) {
    const of = { boot: ride.boot, table: 1 };
    const now = clockOffMs(ride.real(first));
    if (now !== off)
      add((page) =>
        tablePage({
          ...{ ...of, page, boardMs: first, utcSeconds: second(first), clock: 'R' },
          ...{ board: BOARD, roms: ROMS, nextScan: scan, sets: setsOf(now) },
        }),
      );
    off = now;
    const at = first;
    add((page) =>
      scansPage({
        ...{
          ...of,
          page,
          firstMs: at,
          firstScan: scan,
          periodSeconds: PERIOD / 1000,
          second: second(at) % 15,
          sets: setsOf(now),
        },
        scans: Array.from({ length: SCANS }, () => [400, 380]),
      }),
    );
    first += SCANS * PERIOD;
  }
  return events;
}

function ridden(labPpm: number, ridePpm: number, clockOffMs: (ms: number) => number = () => 0) {
  hear(new Boot(1, 0, labPpm), 0, LAB_ENDS);
  const ride = new Boot(2, LAB_ENDS + 1000, ridePpm);
  hear(ride, LAB_ENDS + 1000, LAB_ENDS + minutes(3), clockOffMs(LAB_ENDS + 1000));
  const back = new Boot(3, READ, ridePpm);
  hear(back, READ, READ + 1000, clockOffMs(READ));
  writer.record(pagesOf(ride, back, clockOffMs), utcMs(START + READ));
  writer.takeInLog(utcMs(START + READ + seconds(12)), true);
  const all = store.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)).filter(({ boot }) => boot === 2);
  const used = all.filter(({ status }) => status === 'ok');
  return {
    all,
    used,
    worst: Math.max(...used.map(({ utc, boardMs: at }) => Math.abs(utc - START - ride.real(at)))),
    disproved: store.facts().filter(({ fact }) => fact.type === 'clock-disproved').length,
  };
}

describe('a counter that runs otherwise in the cold than where hosts measured it', () => {
  it.each([
    ['as a crystal', 40, -460],
    ['as a resonator', 400, -100],
    ['as it runs there (negative control)', 40, 40],
  ])('does not disprove the clock chip, which is the ruler: measured %s', (_how, labPpm, ridePpm) => {
    const { all, used, worst, disproved } = ridden(labPpm, ridePpm);
    expect(all.length).toBeGreaterThan(520);
    expect(used).toHaveLength(all.length);
    expect(worst).toBeLessThan(1000);
    expect(disproved).toBe(0);
  });

  it.each([
    ['4 s, which no counter of unknown pace shows', seconds(4)],
    ['a day', 24 * HOUR],
  ])('believes no time of a clock that a stranger set on the way by %s (negative control)', (_by, off) => {
    const isSet = (ms: number) => ms > LAB_ENDS + HOUR;
    const { all, used, worst } = ridden(400, -100, (ms) => (isSet(ms) ? off : 0));
    // It was right until then, and nobody knows when its error came about in another boot.
    expect(used.length).toBeGreaterThan(180);
    expect(all.length - used.length).toBeGreaterThan(150);
    expect(worst).toBeLessThan(2000);
  });
});
