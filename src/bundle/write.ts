import { existsSync, mkdirSync, readdirSync, renameSync, rmSync, utimesSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { temporaryOf, troubleOf } from '../export/newFile.js';
import { parseRules } from '../exposure/ruleSet.js';
import { canonicalJson } from '../store/chain.js';
import { factFromJson } from '../store/facts.js';
import type { Link } from '../store/gathered.js';
import type { Store } from '../store/store.js';
import { syncPath } from '../units/onDisk.js';
import { Refusal } from '../units/refusal.js';
import { MS_PER_SECOND, type UtcMs } from '../units/time.js';
import { headerLine, type Row, rowLine, type Table } from './column.js';
import { type About, DESCRIPTOR, descriptorText, FORMAT, MANIFEST, manifestText } from './descriptor.js';
import { filesOut } from './fileOut.js';
import { casesFrom, judging, offsetsFrom, ruledCounts, rulingRow, usable } from './judging.js';
import { type ParquetFile, parquetOf, readingsParquet, tableParquet } from './parquet.js';
import { publicFacts, shiftOf } from './publicFacts.js';
import { hoursToTell, readingCells, readingsToTell, type Told } from './readings.js';
import { readmeText } from './readme.js';
import { reportsOf } from './reports.js';
import { factRows } from './rows.js';
import { rulesText } from './rulesText.js';
import { sealedHours } from './sealedHours.js';
import { numbered, type Source, sourceFrom, sourceOf } from './source.js';
import { READINGS, TABLES, TEXTS } from './tables.js';
import { peopleIn } from './texts.js';
import { tracks } from './tracks.js';

export interface WriteOptions {
  readonly visits: readonly string[];
  /** The folder to make. */
  readonly out: string;
  readonly withPeople: boolean;
  readonly isPublic: boolean;
  /** Whether each table is there as Parquet, too. */
  readonly asParquet: boolean;
  readonly writtenBy: string;
  readonly now: UtcMs;
  /** Ends it when aborted. */
  readonly signal?: AbortSignal;
}

/** What was written. */
export interface Bundle extends Pick<About, 'chains' | 'visits'> {
  /** The names of actives in it, as they were typed. */
  readonly actives: readonly string[];
  readonly folder: string;
  readonly cups: number;
  readonly readings: number;
  readonly bytes: number;
}

type StoreToTell = Pick<Store, 'chains' | 'provenReadings' | 'saltedText' | 'storeId' | 'text'>;

/**
 * Writes a bundle of some visits into a new folder: under another name beside it first, which it loses when all of it is on
 * the disk, and which is removed when something fails or it is stopped.
 *
 * @throws {Refusal} when something is in that place, a visit is unknown, the folder cannot be written, or it was stopped
 */
export async function writeBundle(store: StoreToTell, options: WriteOptions): Promise<Bundle> {
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
  const part = temporaryOf(out, process.pid);
  let isMade = false;
  try {
    mkdirSync(part);
    isMade = true;
    const bundle = await writeInto(part, store, options);
    syncPath(part);
    // Its files would show when it was written, and so by how much its dates are earlier.
    if (options.isPublic) dated(part, bundle.opened);
    renameSync(part, out);
    syncPath(dirname(out));
    const { opened: _, ...told } = bundle;
    return { ...told, folder: options.out };
  } catch (error) {
    if (error instanceof Refusal || !(error as NodeJS.ErrnoException).syscall) throw error;
    throw new Refusal(`${options.out} cannot be written, ${troubleOf(error)}. Nothing is left of it.`, {
      cause: error,
    });
  } finally {
    if (isMade) rmSync(part, { recursive: true, force: true });
  }
}

async function writeInto(
  folder: string,
  store: StoreToTell,
  options: WriteOptions,
): Promise<Omit<Bundle, 'folder'> & { readonly opened: UtcMs }> {
  // All is told as of this instant, whatever a logger goes on recording.
  const chains = store.chains().map((chain) => ({ ...chain, facts: chain.links.map(toFact) }));
  const plain = sourceOf(
    numbered(chains.map(({ store: id, facts }) => ({ store: id, facts }))),
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
    madeIn: options.isPublic ? null : store.storeId(),
    chains: chains
      .map(({ store: id, links }) => ({ store: id, facts: links.length, head: links.at(-1)!.hash }))
      .sort((a, b) => (a.store < b.store ? -1 : 1)),
  };

  const files = filesOut(folder);
  const rowCounts = new Map<string, number>();
  const put = async (table: Table, rows: readonly Row[]) => {
    await turn(options.signal);
    await files.write(`${table.name}.csv`, (add) => {
      add(headerLine(table));
      for (const row of rows) add(rowLine(table, row));
    });
    rowCounts.set(table.name, rows.length);
    if (options.asParquet)
      await files.write(parquetOf(table), (add) => {
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
  const kept = tracks();
  let readings = 0;
  const tell = async (add: (line: string) => void, parquet: ParquetFile<Told> | null) => {
    for (const hour of readingsToTell(hours, store.provenReadings, sealedHours(chains), offsetAt, shiftMs)) {
      await turn(options.signal);
      for (const { told, at, offset } of hour) {
        readings += 1;
        add(`${readingCells(told, at, offset).join(',')}\r\n`);
        parquet?.add({ told, at, offset });
        if (!options.isPublic) kept.add(told.reading);
        const { rom, status, raw } = told.reading;
        const celsius = usable(status, raw, offset);
        const objection = celsius === null ? null : judged.take(rom, at, celsius);
        if (objection !== null)
          throw new Refusal(`Reading ${told.reading.id} of probe ${rom} cannot be told: ${objection}.`);
      }
    }
  };
  await files.write(`${READINGS.name}.csv`, async (add) => {
    add(headerLine(READINGS));
    if (!options.asParquet) return tell(add, null);
    await files.write(parquetOf(READINGS), async (put) => {
      const parquet = readingsParquet(put);
      await tell(add, parquet);
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
  for (const table of TABLES) if (table !== READINGS) await put(table, told[table.name]!);
  if (options.withPeople) await put(TEXTS, peopleIn(chains, store.saltedText));
  const tables = options.withPeople ? [...TABLES, TEXTS] : TABLES;
  await files.write('rules.json', (add) => add(rulesText(rules)));
  if (!options.isPublic) {
    for (const { store: id, links } of chains)
      await files.write(`facts/${id}.jsonl`, (add) => {
        for (const { line, hash } of links) add(`${canonicalJson({ fact: JSON.parse(line), hash })}\n`);
      });
    const reports = reportsOf({
      chains,
      madeIn: store.storeId(),
      visits: about.visits,
      tracks: kept,
      text: store.text,
      now: options.now,
      version: options.writtenBy,
      withPeople: options.withPeople,
    });
    for (const { path, text } of reports) {
      await turn(options.signal);
      await files.write(path, (add) => add(text));
    }
  }
  await files.write('README.md', (add) => add(readmeText(about, tables, rowCounts, files.written)));
  const created = options.isPublic ? null : options.now;
  await files.write(DESCRIPTOR, (add) => add(descriptorText(about, created, files.written, tables)));
  await files.write(MANIFEST, (add) => add(manifestText(files.written)));
  return {
    visits: about.visits,
    chains: about.chains,
    actives: [...new Set([...source.visits, ...source.cups].flatMap(({ active }) => active ?? []))].sort(),
    opened: source.visits[0]!.opened,
    cups: source.cups.length,
    readings,
    bytes: files.written.reduce((sum, { bytes }) => sum + bytes, 0),
  };
}

/** Lets signals be heard. @throws {Refusal} when one asked to stop */
async function turn(signal: AbortSignal | undefined): Promise<void> {
  await new Promise((resolve) => setImmediate(resolve));
  if (signal?.aborted) throw new Refusal('The bundle was stopped before its end; nothing is left of it.');
}

const toFact = ({ line }: Link) => factFromJson(line);

/** The source of a public bundle; the order of visits and cups stays, and so their new names. */
function publicSource(plain: Source, shiftMs: number): Source {
  const names = plain.visits.map((_, index) => `V${index + 1}`);
  return sourceFrom(publicFacts(plain, shiftMs), plain.storeOf, names, true);
}

/** Gives a folder and all in it the day of its first visit for their times. */
function dated(folder: string, opened: UtcMs): void {
  const day = Math.floor(opened / DAY_MS) * (DAY_MS / MS_PER_SECOND);
  for (const name of readdirSync(folder, { recursive: true }))
    utimesSync(join(folder, String(name)), day, day);
  utimesSync(folder, day, day);
}

const DAY_MS = 24 * 60 * 60 * MS_PER_SECOND;
