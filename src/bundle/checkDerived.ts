import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { ReportFile } from '../report/reportFiles.js';
import { parseInstant } from '../units/time.js';
import type { Checked } from './check.js';
import type { Table } from './column.js';
import { DESCRIPTOR, type Descriptor, descriptorText, MANIFEST } from './descriptor.js';
import type { Written } from './fileOut.js';
import { type Finding, inFile, onLine } from './finding.js';
import { readmeText } from './readme.js';

/** A bundle in which nothing was found so far, and what its pages are made of. */
export interface Derivable {
  readonly folder: string;
  readonly files: ReadonlyMap<string, Written>;
  readonly descriptor: Descriptor;
  readonly tables: readonly Table[];
  /** How many rows each table has. */
  readonly rows: ReadonlyMap<string, number>;
  /** The SHA-256 of each Parquet file when it is made anew. */
  readonly parquet: Iterable<readonly [string, string]>;
  /** The reports made anew, as the version of this program makes them; null when there are to be none. */
  readonly reports: Iterable<ReportFile> | null;
  /** Of this program. */
  readonly version: string;
}

const README = 'README.md';

/**
 * Makes anew what follows from the tables, facts and readings, and holds it against what is there: the page for people, the
 * descriptor, the Parquet files, the reports. What another version of this program wrote may rightly differ; such files are
 * told apart.
 */
export function checkDerived(of: Derivable): Pick<Checked, 'findings' | 'uncompared' | 'notes'> {
  const { folder, files, descriptor, tables, rows, version } = of;
  const about = descriptor.stillwarm;
  const findings: Finding[] = [];
  const unlike: string[] = [];
  const differs = (file: string, finding: () => Finding) => {
    if (about.writtenBy === version) findings.push(finding());
    else unlike.push(file);
  };
  const hold = (file: string, again: string, difference: (found: string, again: string) => Finding) => {
    const found = readFileSync(join(folder, file), 'utf8');
    if (found !== again) differs(file, () => difference(found, again));
  };
  const beside = (...names: readonly string[]) =>
    [...files.values()].filter(({ path }) => !names.includes(path));

  hold(README, readmeText(about, tables, rows, beside(README, DESCRIPTOR, MANIFEST)), (found, again) =>
    lineUnlike(README, found, again),
  );
  const created = descriptor.created === undefined ? null : parseInstant(descriptor.created);
  hold(
    DESCRIPTOR,
    descriptorText(about, about.isPublic ? null : created, beside(DESCRIPTOR, MANIFEST), tables),
    keyUnlike,
  );
  for (const [path, hash] of of.parquet)
    if (files.get(path)!.hash !== hash)
      differs(path, () =>
        inFile(path, 'is not the table of the same name as Parquet, as this version makes it of the CSV'),
      );
  const expected = new Set<string>();
  for (const { path, text } of of.reports ?? []) {
    expected.add(path);
    if (!files.has(path)) findings.push(inFile(path, 'is missing, and every bundle of this visit has it'));
    else hold(path, text, (found, again) => lineUnlike(path, found, again));
  }
  for (const path of files.keys())
    if (path.startsWith('reports/') && !expected.has(path))
      findings.push(inFile(path, 'is no report of this bundle'));
  if (unlike.length === 0) return { findings, uncompared: unlike, notes: [] };
  return {
    findings,
    uncompared: unlike,
    notes: [
      `${listed(unlike)} ${unlike.length === 1 ? 'was' : 'were'} written by stillwarm ${about.writtenBy}, and this is ${version}, which makes ${unlike.length === 1 ? 'it' : 'them'} otherwise: a change in ${unlike.length === 1 ? 'it' : 'them'} would not show if the manifest was made anew, too. Check with that version, or read ${unlike.length === 1 ? 'it' : 'them'} beside the tables.`,
    ],
  };
}

const SHOWN = 4;
const listed = (names: readonly string[]): string => {
  const more = names.length - SHOWN;
  return more > 0 ? `${names.slice(0, SHOWN).join(', ')} and ${more} more` : names.join(', ');
};

/** The first line that differs, from shortly before the difference on. */
function lineUnlike(file: string, found: string, again: string): Finding {
  const [here, there] = [found.split('\n'), again.split('\n')];
  const index = here.findIndex((line, place) => line !== there[place]);
  if (index < 0) return onLine(file, here.length, 'is the last line, and more follows when it is made anew');
  const [line, other] = [here[index]!, there[index]];
  if (other === undefined) return onLine(file, index + 1, 'is one line more than when it is made anew');
  let at = 0;
  while (line[at] === other[at]) at += 1;
  const around = (text: string) => JSON.stringify(text.slice(Math.max(0, at - BEFORE), at + AFTER));
  return onLine(file, index + 1, `has ${around(line)} where ${around(other)} follows from what is here`);
}

const BEFORE = 30;
const AFTER = 60;

/** The first key of the descriptor that differs. */
function keyUnlike(found: string, again: string): Finding {
  const difference = firstUnlike(JSON.parse(found), JSON.parse(again), '');
  return difference === null
    ? inFile(DESCRIPTOR, 'is not written as bundles write it: the same keys in another order or form')
    : inFile(DESCRIPTOR, difference);
}

function firstUnlike(found: unknown, again: unknown, key: string): string | null {
  const shown = (value: unknown) => (value === undefined ? 'nothing' : JSON.stringify(value).slice(0, AFTER));
  if (typeof found !== 'object' || typeof again !== 'object' || found === null || again === null)
    return found === again ? null : `key ${key} is ${shown(found)}, and what is here gives ${shown(again)}`;
  const [one, other] = [found as Record<string, unknown>, again as Record<string, unknown>];
  for (const name of new Set([...Object.keys(other), ...Object.keys(one)])) {
    const difference = firstUnlike(one[name], other[name], key === '' ? name : `${key}.${name}`);
    if (difference !== null) return difference;
  }
  return null;
}
