import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseRules, type RuleSet } from '../exposure/ruleSet.js';
import { Refusal } from '../units/refusal.js';
import { checkWitnesses, type FoundChain, factsFile, readChain } from './checkFacts.js';
import { checkDescriptor, checkFiles } from './checkFiles.js';
import { checkReadings, sealedHours } from './checkReadings.js';
import { compareRows, type FoundTable, fileOf, readTable, valuesOf } from './checkTables.js';
import type { Row, Table } from './column.js';
import { type About, DESCRIPTOR, type Descriptor, givenShape, schemaShape } from './descriptor.js';
import { type Finding, inFile, onLine } from './finding.js';
import { casesFrom, judging, offsetsFrom, ruledCounts, rulingRow } from './judging.js';
import { hoursToTell } from './readings.js';
import { type FactRows, factRows } from './rows.js';
import { numbered, sourceOf } from './source.js';
import {
  CALIBRATIONS,
  CORRECTIONS,
  COUNTS,
  CUPS,
  EXPOSURES,
  PROBES,
  READINGS,
  RULINGS_TABLE,
  SEATINGS,
  TABLES,
  TEXTS,
  VISITS,
} from './tables.js';
import { referenceOf, referencesIn } from './texts.js';

/** What a bundle was found to be. */
export interface Checked {
  readonly findings: readonly Finding[];
  /** What it says of itself; null when that cannot be read. */
  readonly about: About | null;
  readonly files: number;
  /** How many cups were judged again. */
  readonly judged: number;
  readonly readings: number;
  /** How many of the readings a chain proves. */
  readonly proven: number;
}

/**
 * Checks all of a bundle: every byte, every row, every chain, and every ruling from the readings.
 *
 * @throws {Refusal} when the folder is no bundle, or one of a newer version
 */
export async function checkBundle(folder: string): Promise<Checked> {
  const { files, findings: inFiles } = await checkFiles(folder);
  // What the manifest found about a file need not be said again.
  const named = new Set(inFiles.map(({ file }) => file));
  const { descriptor, findings: inDescriptor } = checkDescriptor(folder, files, named);
  const findings = [...inFiles, ...inDescriptor];
  const nothing = { files: files.size, judged: 0, readings: 0, proven: 0 };
  if (descriptor === null) return { ...nothing, findings, about: null };
  const about = descriptor.stillwarm;
  const tables = about.hasPeople ? [...TABLES, TEXTS] : TABLES;
  findings.push(...tables.flatMap((table) => schemaFindings(descriptor, table)));
  const chains = about.isPublic ? [] : about.chains.map((told) => readChain(folder, told));
  findings.push(...chains.flatMap((chain) => chain.findings), ...checkWitnesses(chains));
  const wanted = [...tables.map(fileOf), 'rules.json', ...chains.map(({ store }) => factsFile(store))];
  const missing = wanted.filter((file) => !files.has(file));
  const unsaid = missing.filter((file) => !findings.some((each) => each.file === file));
  findings.push(...unsaid.map((file) => inFile(file, 'is missing, and every bundle has it')));
  if (missing.length > 0) return { ...nothing, findings, about };
  return { ...checkContents(folder, about, tables, chains, findings), files: files.size };
}

/** Holds what the files say against each other; all of them are there. */
function checkContents(
  folder: string,
  about: About,
  tables: readonly Table[],
  chains: readonly FoundChain[],
  findings: Finding[],
): Omit<Checked, 'files'> {
  const nothing = { judged: 0, readings: 0, proven: 0 };
  const found = new Map(
    tables.filter((table) => table !== READINGS).map((table) => [table, readTable(folder, table)]),
  );
  findings.push(...[...found.values()].flatMap((table) => table.findings));
  const rules = readRules(folder, findings);
  const values = (table: Table) => valuesOf(table, found.get(table)!);
  const expected = expectedRows(about, chains, findings);
  if (expected !== null) {
    for (const [table, rows] of fromFacts(expected))
      findings.push(...compareRows(table, found.get(table)!, rows, 'the facts say'));
    if (JSON.stringify(rules.json) !== JSON.stringify(expected.rules))
      findings.push(inFile('rules.json', 'holds other rule sets than those the visits were opened with'));
  } else findings.push(...danglingRows(found));
  if (about.hasPeople) findings.push(...textFindings(found.get(TEXTS)!, chains));

  const isWhole = [EXPOSURES, SEATINGS, CALIBRATIONS].every(
    (table) => found.get(table)!.findings.length === 0,
  );
  const exposures = values(EXPOSURES);
  if (
    !isWhole ||
    rules.sets === null ||
    exposures.some((row) => rules.sets![(row['rule_set'] as number) - 1] === undefined)
  ) {
    findings.push(inFile(fileOf(RULINGS_TABLE), 'was not judged again, for what it rests on cannot be read'));
    return { ...nothing, findings, about };
  }
  const again = judgedAgain(
    { folder, about, chains, exposures, seatings: values(SEATINGS), calibrations: values(CALIBRATIONS) },
    rules.sets,
    findings,
  );
  if (again === null) return { ...nothing, findings, about };
  findings.push(
    ...compareRows(
      RULINGS_TABLE,
      found.get(RULINGS_TABLE)!,
      again.rulings,
      'judging the readings again gives',
    ),
  );
  const counts = expected?.counts ?? values(COUNTS);
  const cups = expected?.cups ?? values(CUPS);
  findings.push(
    ...compareRows(
      COUNTS,
      found.get(COUNTS)!,
      ruledCounts(counts, cups, again.rulings),
      expected === null ? 'judging the readings again gives' : 'facts and readings give',
    ),
  );
  const { readings, proven } = again;
  return { findings, about, judged: again.rulings.length, readings, proven };
}

const fromFacts = (expected: FactRows): (readonly [Table, readonly Row[]])[] => [
  [VISITS, expected.visits],
  [CUPS, expected.cups],
  [EXPOSURES, expected.exposures],
  [SEATINGS, expected.seatings],
  [CORRECTIONS, expected.corrections],
  [PROBES, expected.probes],
  [CALIBRATIONS, expected.calibrations],
];

function schemaFindings(descriptor: Descriptor, table: Table): Finding[] {
  const resource = descriptor.resources.find(({ path }) => path === fileOf(table));
  if (resource === undefined) return [inFile(DESCRIPTOR, `does not tell of ${fileOf(table)}`)];
  return givenShape(resource) === schemaShape(table)
    ? []
    : [inFile(DESCRIPTOR, `gives ${fileOf(table)} another schema than bundles of this format have`)];
}

interface FoundRules {
  readonly json: unknown;
  readonly sets: readonly RuleSet[] | null;
}

function readRules(folder: string, findings: Finding[]): FoundRules {
  const file = 'rules.json';
  try {
    const { rules } = JSON.parse(readFileSync(join(folder, file), 'utf8')) as { rules: unknown[] };
    return { json: rules, sets: rules.map((each) => parseRules(each, 'a rule set')) };
  } catch (error) {
    findings.push(inFile(file, `holds no rule sets (${(error as Error).message})`));
    return { json: null, sets: null };
  }
}

/** What the tables must hold by the facts; null when there are none, or not all of them can be read. */
function expectedRows(about: About, chains: readonly FoundChain[], findings: Finding[]): FactRows | null {
  if (about.isPublic) return null;
  const read = chains.flatMap(({ store, facts }) => (facts === null ? [] : [{ store, facts }]));
  if (read.length < chains.length || read.length === 0) {
    findings.push(inFile('facts', 'could not all be read, so that the tables were not held against them'));
    return null;
  }
  try {
    return factRows(sourceOf(numbered(read), about.visits));
  } catch (error) {
    findings.push(inFile('facts', `do not give these visits (${(error as Error).message})`));
    return null;
  }
}

interface ToJudge {
  readonly folder: string;
  readonly about: About;
  readonly chains: readonly FoundChain[];
  readonly exposures: readonly Row[];
  readonly seatings: readonly Row[];
  readonly calibrations: readonly Row[];
}

/** Null when what the tables say cannot be judged at all. */
function judgedAgain(
  { folder, about, chains, exposures, seatings, calibrations }: ToJudge,
  rules: readonly RuleSet[],
  findings: Finding[],
): { readonly rulings: readonly Row[]; readonly readings: number; readonly proven: number } | null {
  const known = new Set(exposures.map(({ cup }) => cup));
  try {
    const judged = judging(casesFrom(exposures, seatings, rules));
    const checked = checkReadings({
      folder,
      hours: hoursToTell(
        exposures,
        seatings.filter(({ cup }) => known.has(cup!)),
      ),
      offsetAt: offsetsFrom(calibrations),
      stores: new Set(about.chains.map(({ store }) => store)),
      judging: judged,
      sealed: chains.length === 0 ? null : sealedHours(chains),
    });
    findings.push(...checked.findings);
    return { rulings: judged.rulings().map(rulingRow), readings: checked.readings, proven: checked.proven };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    findings.push(inFile(fileOf(SEATINGS), `cannot be judged (${error.message})`));
    return null;
  }
}

/** Rows that speak of a row of another table that is not there; facts would show it otherwise. */
function danglingRows(found: ReadonlyMap<Table, FoundTable>): Finding[] {
  const column = (table: Table, name: string) => table.columns.findIndex((each) => each.name === name);
  const all = (table: Table, name: string) =>
    new Set(found.get(table)!.rows.map(({ cells }) => cells[column(table, name)]));
  const links: readonly (readonly [Table, string, Table])[] = [
    [CUPS, 'visit', VISITS],
    [EXPOSURES, 'cup', CUPS],
    [SEATINGS, 'cup', EXPOSURES],
    [COUNTS, 'cup', CUPS],
    [COUNTS, 'visit', VISITS],
  ];
  return links.flatMap(([table, name, target]) => {
    const there = all(target, name);
    return found
      .get(table)!
      .rows.filter(({ cells }) => !there.has(cells[column(table, name)]))
      .map(({ line, cells }) =>
        onLine(
          fileOf(table),
          line,
          `is ${cells[column(table, name)]}, of which ${fileOf(target)} says nothing`,
          name,
        ),
      );
  });
}

function textFindings(texts: FoundTable, chains: readonly FoundChain[]): Finding[] {
  const known = referencesIn(chains.flatMap(({ links }) => links.map(({ line }) => line)));
  return valuesOf(TEXTS, texts).flatMap((row, index) => {
    const line = texts.rows[index]!.line;
    if (!known.has(row['ref'] as string))
      return [onLine(fileOf(TEXTS), line, 'is a reference that no fact has', 'ref')];
    return referenceOf(row['salt'] as string, row['text'] as string) === row['ref']
      ? []
      : [onLine(fileOf(TEXTS), line, 'is not the text that its reference was made of', 'text')];
  });
}
