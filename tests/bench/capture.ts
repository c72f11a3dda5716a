import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ReadlineParser } from '@serialport/parser-readline';
import { SteppedClock } from '../../src/carrier/emulated/steppedClock.js';
import { readLines } from '../../src/carrier/readLines.js';
import { recorder } from '../../src/logger/recorder.js';
import { wholeScans } from '../../src/logger/wholeScans.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite } from '../../src/store/store.js';
import { monotonicMs, seconds, utcMs } from '../../src/units/time.js';
import { Bench, manyRoms } from '../emulator/bench.js';
import { type Row, sameAnswer, timed } from './row.js';

/** A capture of half an hour: what a board with so many probes sends to a host that listens. */
const MINUTES = 30;
const START = utcMs(1_790_000_000_000);

/** As the logger's. */
const TICK = seconds(0.1);

interface Captured {
  readonly probes: number;
  /** Each line, and when its last byte came, milliseconds after power-on. */
  readonly lines: readonly { readonly text: string; readonly atMs: number }[];
}

function capture(probes: number): Captured {
  const bench = new Bench({ probes: manyRoms(probes).map((rom) => ({ rom, celsius: 27 })) }).run(
    MINUTES * 60_000,
  );
  return { probes, lines: bench.lines.map(({ text, atMs }) => ({ text, atMs })) };
}

async function inFolder<T>(task: (folder: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-capture-'));
  try {
    return await task(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Bytes to durable rows as the logger does it: one transaction a scan. Gives how many readings the store then holds. */
async function record({ lines }: Pick<Captured, 'lines'>, path: string): Promise<number> {
  const store = openStoreToWrite(path, START);
  const clock = new SteppedClock(START);
  const writer = recorder(store, { utc: START, monotonic: monotonicMs(0) }, null, () => {});
  const scans = wholeScans((events) => writer.record(events, clock.utc()));
  clock.every(TICK, scans.tick);
  const { input } = readLines(clock, scans.take);
  for (const { text, atMs } of lines) {
    clock.moveTo(atMs);
    await new Promise<void>((resolve) => input.write(Buffer.from(text, 'latin1'), () => resolve()));
  }
  scans.flush();
  const count = store.readingCount();
  store.close();
  return count;
}

/** The line parser alone on the same bytes. */
async function parse({ lines }: Captured): Promise<number> {
  const parser = new ReadlineParser({ delimiter: '\n', encoding: 'latin1' });
  let count = 0;
  parser.on('data', () => {
    count += 1;
  });
  for (const { text } of lines)
    await new Promise<void>((resolve) => parser.write(Buffer.from(text, 'latin1'), () => resolve()));
  return count;
}

/** Bare transactions of as many rows of the same size, as durable, in a table without an index of its own. */
function insert({ lines, probes }: Captured, path: string): number {
  const sqlite = openSqlite(path, 'create');
  sqlite.exec('PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL');
  sqlite.exec(
    'CREATE TABLE r (a INTEGER, b INTEGER, c INTEGER, d INTEGER, e INTEGER, f INTEGER, g INTEGER, h TEXT)',
  );
  const scans = lines.filter(({ text }) => text.startsWith('$S')).length;
  const perLine = Math.ceil(probes / Math.ceil(probes / 8));
  let rows = 0;
  for (let scan = 0; scan < scans; scan += 1)
    sqlite.immediate(() => {
      for (let index = 0; index < perLine; index += 1) {
        sqlite.run(
          'INSERT INTO r VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
          1,
          scan,
          index,
          index,
          scan * 10_000,
          START,
          432,
          'ok',
        );
        rows += 1;
      }
    });
  sqlite.close();
  return rows;
}

const captured = new Map<number, Captured>();
const of = (probes: number): Captured =>
  captured.get(probes) ?? captured.set(probes, capture(probes)).get(probes)!;

const durable: Row = {
  name: `capture: ${MINUTES} min of 8 probes, bytes to durable rows`,
  against: 'the slower of the bare line parser and bare transactions of the same rows',
  aim: { atMost: 2 },
  runs: 5,
  measure: () =>
    inFolder(async (folder) => {
      const ours = await timed(() => record(of(8), join(folder, 'ours')));
      const lines = await timed(() => parse(of(8)));
      const rows = await timed(() => insert(of(8), join(folder, 'bare')));
      sameAnswer('rows of the capture', ours.value, rows.value);
      return { ours: ours.seconds, other: Math.max(lines.seconds, rows.seconds) };
    }),
};

export const rows: readonly Row[] = [durable];
