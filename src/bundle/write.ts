import { closeSync, existsSync, fsyncSync, mkdirSync, openSync, renameSync, rmSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { parseRules } from '../exposure/ruleSet.js';
import { canonicalJson } from '../store/chain.js';
import { factFromJson } from '../store/facts.js';
import type { Link } from '../store/gathered.js';
import type { Store } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import { headerLine, type Row, rowLine, type Table } from './column.js';
import { type About, DESCRIPTOR, descriptorText, FORMAT, MANIFEST, manifestText } from './descriptor.js';
import { filesOut } from './fileOut.js';
import { casesFrom, judging, offsetsFrom, ruledCounts, rulingRow, usable } from './judging.js';
import { type ParquetFile, type ReadingTold, readingsParquet, tableParquet } from './parquet.js';
import { publicFacts, shiftOf } from './publicFacts.js';
import { eachReading, hoursToTell, readingCells } from './readings.js';
import { readmeText } from './readme.js';
import { factRows } from './rows.js';
import { numbered, type Source, sourceFrom, sourceOf } from './source.js';
import { READINGS, TABLES, TEXTS } from './tables.js';
import { peopleIn } from './texts.js';

export interface WriteOptions {
  readonly visits: readonly string[];
  /** The folder to make. */
  readonly out: string;
  readonly withPeople: boolean;
  readonly isPublic: boolean;
  /** Whether each table is there as Parquet, too. */
  readonly asParquet: boolean;
  /** Files to put beside the tables, by their path in the bundle. */
  readonly reports: readonly { readonly path: string; readonly text: string }[];
  readonly writtenBy: string;
  readonly now: UtcMs;
}

/** What was written. */
export interface Bundle extends Pick<About, 'chains' | 'visits'> {
  readonly folder: string;
  readonly cups: number;
  readonly readings: number;
  readonly bytes: number;
}

type StoreToTell = Pick<Store, 'chains' | 'provenReadings' | 'saltedText'>;

/**
 * Writes a bundle of some visits into a new folder: under another name beside it first, which it loses when all of it is on
 * the disk.
 *
 * @throws {Refusal} when something is in that place, a visit is unknown, or the folder cannot be written
 */
export function writeBundle(store: StoreToTell, options: WriteOptions): Bundle {
  const out = resolve(options.out);
  if (options.isPublic && options.withPeople)
    throw new Refusal('A public bundle never holds words of people; leave out --with-people or --public.');
  if (existsSync(out))
    throw new Refusal(`${options.out} exists, and nothing is overwritten; name another folder with --out.`);
  if (!existsSync(dirname(out)))
    throw new Refusal(
      `${options.out} cannot be made, for the folder above it does not exist; make that first.`,
    );
  // Its own name: a folder that somebody else left there is nobody's to remove.
  const part = `${out}.${process.pid}.part`;
  let isMade = false;
  try {
    mkdirSync(part);
    isMade = true;
    const bundle = writeInto(part, store, options);
    sync(part);
    renameSync(part, out);
    sync(dirname(out));
    return { ...bundle, folder: options.out };
  } catch (error) {
    if (error instanceof Refusal || !(error as NodeJS.ErrnoException).syscall) throw error;
    throw new Refusal(
      `${options.out} cannot be written (${(error as Error).message}); nothing is left of it.`,
      { cause: error },
    );
  } finally {
    if (isMade) rmSync(part, { recursive: true, force: true });
  }
}

function writeInto(folder: string, store: StoreToTell, options: WriteOptions): Omit<Bundle, 'folder'> {
  const chains = store.chains();
  const plain = sourceOf(
    numbered(chains.map(({ store: id, links }) => ({ store: id, facts: links.map(toFact) }))),
    options.visits,
  );
  const shiftMs = options.isPublic ? shiftOf(plain) : 0;
  const source = options.isPublic ? publicSource(plain, shiftMs) : plain;
  const about: About = {
    format: FORMAT,
    writtenBy: options.writtenBy,
    visits: source.visits.map(({ visit }) => visit),
    isPublic: options.isPublic,
    hasPeople: options.withPeople,
    chains: chains
      .map(({ store: id, links }) => ({ store: id, facts: links.length, head: links.at(-1)!.hash }))
      .sort((a, b) => (a.store < b.store ? -1 : 1)),
  };

  const files = filesOut(folder);
  const rowCounts = new Map<string, number>();
  const put = (table: Table, rows: readonly Row[]) => {
    files.write(`${table.name}.csv`, (add) => {
      add(headerLine(table));
      for (const row of rows) add(rowLine(table, row));
    });
    rowCounts.set(table.name, rows.length);
    if (options.asParquet)
      files.write(`${table.name}.parquet`, (add) => {
        const parquet = tableParquet(table, add);
        for (const row of rows) parquet.add(row);
        parquet.end();
      });
  };

  const { rules, ...rows } = factRows(source);
  const hours = hoursToTell(rows.exposures, rows.seatings);
  const offsetAt = offsetsFrom(rows.calibrations);
  const judged = judging(
    casesFrom(
      rows.exposures,
      rows.seatings,
      rules.map((json) => parseRules(json, 'the rule set')),
    ),
  );
  let readings = 0;
  const tell = (add: (line: string) => void, parquet: ParquetFile<ReadingTold> | null) =>
    eachReading(hours, store.provenReadings, offsetAt, shiftMs, (told, at, offset) => {
      readings += 1;
      add(`${readingCells(told, at, offset).join(',')}\r\n`);
      parquet?.add({ told, at, offset });
      const { rom, status, raw } = told.reading;
      const celsius = usable(status, raw, offset);
      const objection = celsius === null ? null : judged.take(rom, at, celsius);
      if (objection !== null)
        throw new Refusal(`Reading ${told.reading.id} of probe ${rom} cannot be told: ${objection}.`);
    });
  files.write(`${READINGS.name}.csv`, (add) => {
    add(headerLine(READINGS));
    if (!options.asParquet) return tell(add, null);
    files.write(`${READINGS.name}.parquet`, (put) => {
      const parquet = readingsParquet(put);
      tell(add, parquet);
      parquet.end();
    });
  });
  rowCounts.set(READINGS.name, readings);
  const rulings = judged.rulings().map(rulingRow);
  const told: Readonly<Record<string, readonly Row[]>> = {
    ...rows,
    rulings,
    counts: ruledCounts(rows.counts, rows.cups, rulings),
  };
  for (const table of TABLES) if (table !== READINGS) put(table, told[table.name]!);
  if (options.withPeople) put(TEXTS, peopleIn(chains, store.saltedText));
  const tables = options.withPeople ? [...TABLES, TEXTS] : TABLES;
  files.write('rules.json', (add) => add(`${JSON.stringify({ rules }, null, 2)}\n`));
  if (!options.isPublic)
    for (const { store: id, links } of chains)
      files.write(`facts/${id}.jsonl`, (add) => {
        for (const { line, hash } of links) add(`${canonicalJson({ fact: JSON.parse(line), hash })}\n`);
      });
  for (const { path, text } of options.reports) files.write(path, (add) => add(text));
  files.write('README.md', (add) => add(readmeText(about, tables, rowCounts, files.written)));
  files.write(DESCRIPTOR, (add) => add(descriptorText(about, options.now, files.written, tables)));
  files.write(MANIFEST, (add) => add(manifestText(files.written)));
  return {
    visits: about.visits,
    chains: about.chains,
    cups: source.cups.length,
    readings,
    bytes: files.written.reduce((sum, { bytes }) => sum + bytes, 0),
  };
}

const toFact = ({ line }: Link) => factFromJson(line);

/** The source of a public bundle; the order of visits and cups stays, and so their new names. */
function publicSource(plain: Source, shiftMs: number): Source {
  const names = plain.visits.map((_, index) => `V${index + 1}`);
  return sourceFrom(publicFacts(plain, shiftMs), plain.storeOf, names, true);
}

function sync(path: string): void {
  const file = openSync(path, 'r');
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}
