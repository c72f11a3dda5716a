import type { Connection } from '../../src/mirror/connection.js';
import { connect } from '../../src/mirror/connection.js';
import { type Credentials, readCredentials } from '../../src/mirror/credentials.js';
import type { Point } from '../../src/mirror/points.js';
import { type Progress, runPump } from '../../src/mirror/pump.js';
import { type Target, targetOf, targetToJson } from '../../src/mirror/target.js';
import type { Store, StoredReading } from '../../src/store/store.js';
import { type Clock, systemClock } from '../../src/units/clock.js';
import { crc8, parseBoardId, parseRomId, type RomId } from '../../src/units/ids.js';
import { boardMs, type DurationMs, monotonicMs, utcMs } from '../../src/units/time.js';

/** An invented morning. */
export const NINE = utcMs(Date.UTC(2026, 4, 12, 9));
export const BOARD = parseBoardId('0A1B2C3D')!;

/** The ROM id of an invented probe: its CRC is right. */
export function invented(serial: number): RomId {
  const bytes = [0x28, serial, 0x51, 0x0c, 0x3a, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
}

/** The readings of a scan of twelve probes; every tenth scan has one that failed. */
export function scan(number: number, boot = 1): Omit<StoredReading, 'id'>[] {
  return Array.from({ length: 12 }, (_, slotIndex) => {
    const failed = slotIndex === 3 && number % 10 === 0;
    return {
      rom: invented(slotIndex + 1),
      board: BOARD,
      boot,
      scan: number,
      slotIndex,
      boardMs: boardMs(number * 10_000),
      utc: utcMs(NINE + boot * 86_400_000 + number * 10_000),
      raw: failed ? null : 480 + ((number + slotIndex) % 64),
      status: failed ? 'bad-crc' : 'ok',
    };
  });
}

/** Adds scans as a logger does: each durable by itself. */
export function logScans(store: Store, from: number, count: number, boot = 1): void {
  for (let number = from; number < from + count; number += 1)
    store.transaction(() => store.addReadings(scan(number, boot)));
}

/** Adds scans at once: a backlog. */
export const addBacklog = (store: Store, from: number, count: number, boot = 1): void =>
  store.transaction(() => {
    for (let number = from; number < from + count; number += 1) store.addReadings(scan(number, boot));
  });

export const countOf = (store: Store): number => store.readingsBehind(0);

/** A clock on which everything takes a twentieth of the time. */
export const QUICKLY = 20;
export const quickClock: Clock = {
  ...systemClock,
  monotonic: () => monotonicMs(systemClock.monotonic() * QUICKLY),
  sleep: (duration, signal) => systemClock.sleep((duration / QUICKLY) as DurationMs, signal),
  every: (period, task) => systemClock.every((period / QUICKLY) as DurationMs, task),
};

export function aim(
  store: Store,
  url: string,
  options: { holdSeconds?: number; credentialsFile?: string; caFile?: string; fromStart?: boolean } = {},
): Target {
  const target = targetOf({
    address: url,
    database: 'bees',
    credentialsFile: options.credentialsFile ?? null,
    caFile: options.caFile ?? null,
    holdSeconds: options.holdSeconds ?? 0,
    allowPlainHttp: false,
  });
  store.setMirror(targetToJson(target), options.fromStart ?? true);
  return target;
}

export interface Pumping {
  readonly said: string[];
  progress(): Progress | null;
  /** Waits until the pump is so; fails with its state when it takes too long. */
  until(what: string, isSo: (progress: Progress) => boolean): Promise<void>;
  stop(): Promise<void>;
}

/** Runs the pump as the logger does. `twist` may change what is sent, or how. */
export function pumping(
  store: Store,
  options: { twist?: (connection: Connection) => Connection; clock?: Clock; credentials?: Credentials } = {},
): Pumping {
  const clock = options.clock ?? quickClock;
  const stop = new AbortController();
  const said: string[] = [];
  let last: Progress | null = null;
  const waiting = new Set<() => void>();
  const ended = runPump({
    store,
    clock,
    connect: async (target) => {
      const made = connect(target, readCredentials(target.credentialsFile, {}), clock);
      return options.twist?.(made) ?? made;
    },
    say: (sentence) => said.push(sentence),
    signal: stop.signal,
    onProgress: (progress) => {
      last = progress;
      for (const look of waiting) look();
    },
  });
  return {
    said,
    progress: () => last,
    until: (what, isSo) =>
      new Promise((resolve, reject) => {
        const done = (end: () => void) => {
          waiting.delete(look);
          clearTimeout(timer);
          end();
        };
        const look = () => {
          if (last !== null && isSo(last)) done(resolve);
        };
        const timer = setTimeout(
          () => done(() => reject(new Error(`${what}: not so; ${JSON.stringify(last)} ${said.join(' | ')}`))),
          20_000,
        );
        waiting.add(look);
      }),
    async stop() {
      stop.abort();
      await ended;
    },
  };
}

/** A connection that sends other points than it is given. */
export const changing =
  (change: (point: Point) => Point) =>
  (connection: Connection): Connection => ({
    ...connection,
    isLost: () => connection.isLost(),
    close: () => connection.close(),
    write: (points) => connection.write(points.map(change)),
  });
