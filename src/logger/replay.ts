import { closeSync, createReadStream, fstatSync, openSync, readSync } from 'node:fs';
import { createInterface } from 'node:readline';
import type { ScanEvent } from '../carrier/events.js';
import type { Store } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import { refuseIrregular } from '../units/regularFile.js';
import { utcMs } from '../units/time.js';
import { type Recorder, recorder } from './recorder.js';
import { type Entry, HEADER_START, readEntryLine } from './recordingLines.js';

/** What a replay came to. */
export interface Replayed {
  readonly sections: number;
  readonly events: number;
  readonly readings: number;
  /** The numbers of lines that were cut off while they were written, and are left out. */
  readonly torn: readonly number[];
}

/** So many entries are written in one transaction. */
const BATCH = 2000;

/** A recording that was read to its end and can be replayed. */
export interface CheckedRecording {
  readonly path: string;
  readonly firstScan: ScanEvent | null;
}

/**
 * Reads a recording to its end. The last line of a section may be cut off, as by a power cut.
 *
 * @throws {Refusal} when the file is no recording or is damaged, with the number of the line
 */
export async function checkRecording(path: string): Promise<CheckedRecording> {
  let firstScan: ScanEvent | null = null;
  let named = new Set<number>();
  for await (const read of entriesOf(path)) {
    if ('torn' in read) continue;
    const { entry, line } = read;
    if (entry.is === 'recording') named = new Set();
    else if (entry.is === 'source') named.add(entry.source);
    else if (!named.has(entry.source)) throw damaged(path, line, 'speaks of a source that was not named');
    else if (entry.is === 'event' && entry.event.kind === 'scan') firstScan ??= entry.event;
  }
  return { path, firstScan };
}

/**
 * Tells a store what a recording holds, as the recorder was told it: the readings and the facts about boards come out
 * the same, to the byte.
 *
 * @param say takes what the logger said, sentence by sentence
 * @param onBatch told now and then that it goes on
 * @throws {Refusal} when its scans are in the store already
 */
export async function replay(
  { path, firstScan }: CheckedRecording,
  store: Store,
  say: (sentence: string) => void,
  onBatch: () => void = () => {},
): Promise<Replayed> {
  if (firstScan !== null && store.scansOf(firstScan.board, firstScan.bootCount).has(firstScan.scan))
    throw new Refusal(`${store.path} holds the scans of ${path} already; name a new store with --store.`);
  // All of a batch is one transaction; what the recorder opens inside is a part of it.
  const inside: Store = { ...store, transaction: (task) => task() };
  let recorders = new Map<number, Recorder>();
  const come = { sections: 0, events: 0, readings: 0 };
  const torn: number[] = [];
  /** What the recorders of a section have only counted so far. */
  const endSection = () => recorders.forEach((each) => void each.record([], last));
  let last = utcMs(0);
  const tell = (entry: Entry): void => {
    if (entry.is === 'recording') {
      endSection();
      recorders = new Map();
      come.sections += 1;
      return;
    }
    if (entry.is === 'source') {
      const { anchor, carrier, name } = entry;
      const sayOf = (sentence: string) => say(`${name}: ${sentence}`);
      recorders.set(entry.source, recorder(inside, anchor, carrier, sayOf));
      return;
    }
    const writer = recorders.get(entry.source)!;
    last = entry.now;
    if (entry.is === 'take-in')
      come.readings += writer.takeInLog(entry.now, !entry.isPart, entry.most).readings;
    else if (entry.is === 'lost-pages') writer.losePages(entry.board, entry.first, entry.last, entry.now);
    else {
      come.events += 1;
      if (entry.event.kind === 'scan') come.readings += entry.event.readings.length;
      writer.record([entry.event], entry.now);
    }
  };

  let batch: Entry[] = [];
  const write = () => {
    const entries = batch;
    batch = [];
    store.transaction(() => entries.forEach(tell));
    onBatch();
  };
  for await (const read of entriesOf(path)) {
    if ('torn' in read) torn.push(read.torn);
    else batch.push(read.entry);
    if (batch.length >= BATCH) write();
  }
  write();
  store.transaction(endSection);
  return { ...come, torn };
}

/** The entries of a recording in order, and the lines that were cut off. */
async function* entriesOf(path: string): AsyncGenerator<{ entry: Entry; line: number } | { torn: number }> {
  const endsWhole = looksLikeRecording(path);
  let line = 0;
  let expected = 1;
  /** A line that cannot be used: cut off if the file or its section ends there, damage otherwise. */
  let bad: { line: number; why: string } | null = null;
  for await (const text of createInterface({ input: createReadStream(path, 'utf8'), crlfDelay: Infinity })) {
    line += 1;
    const read = readEntryLine(text);
    const isHeader = !('bad' in read) && read.entry.is === 'recording' && read.number === 1;
    if (bad !== null) {
      if (!isHeader) throw damaged(path, bad.line, bad.why);
      yield { torn: bad.line };
      bad = null;
    }
    if ('bad' in read) {
      bad = { line, why: read.bad };
      continue;
    }
    if (read.number !== (isHeader ? 1 : expected))
      throw damaged(
        path,
        line,
        `is number ${read.number} where ${expected} should be: lines are missing or moved`,
      );
    expected = read.number + 1;
    yield { entry: read.entry, line };
  }
  if (bad === null) return;
  if (endsWhole) throw damaged(path, bad.line, bad.why);
  yield { torn: bad.line };
}

const damaged = (path: string, line: number, why: string): Refusal =>
  new Refusal(`${path}, line ${line}: ${why}; replay a copy of the recording that is whole.`);

/** Refuses what is no recording; whether its last line has its end. */
function looksLikeRecording(path: string): boolean {
  refuseIrregular(path, 'name a file that log --record wrote', 'The recording ');
  let file: number;
  try {
    file = openSync(path, 'r');
  } catch (error) {
    throw new Refusal(
      `The recording ${path} cannot be read (${(error as NodeJS.ErrnoException).code}); name a file that log --record wrote.`,
    );
  }
  try {
    const start = Buffer.alloc(HEADER_START.length);
    readSync(file, start, 0, start.length, 0);
    if (start.toString('latin1') !== HEADER_START)
      throw new Refusal(`${path} is not a recording; name a file that log --record wrote.`);
    const last = Buffer.alloc(1);
    readSync(file, last, 0, 1, fstatSync(file).size - 1);
    return last.toString('latin1') === '\n';
  } finally {
    closeSync(file);
  }
}
