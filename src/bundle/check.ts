import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseRules, type RuleSet, rulesToJson } from '../exposure/ruleSet.js';
import type { ReportFile } from '../report/reportFiles.js';
import { referencesIn } from '../store/references.js';
import { installedVersion } from '../units/installed.js';
import { Refusal } from '../units/refusal.js';
import { parseInstant } from '../units/time.js';
import { checkDerived } from './checkDerived.js';
import { checkWitnesses, type FoundChain, factsFile, readChain } from './checkFacts.js';
import { BESIDE, checkDescriptor, checkFiles } from './checkFiles.js';
import { checkPublic } from './checkPublic.js';
import { checkReadings, type ReadingsCheck } from './checkReadings.js';
import { compareRows, type FoundTable, fileOf, readTable, valuesOf } from './checkTables.js';
import type { Row, Table } from './column.js';
import { type About, DESCRIPTOR, type Descriptor, schemaOf, shapeOf } from './descriptor.js';
import { type Finding, inFile, onLine } from './finding.js';
import { casesFrom, judging, offsetsFrom, ruledCounts, rulingRow } from './judging.js';
import { parquetHash, parquetOf, readingsParquet, tableParquet } from './parquet.js';
import { hoursToTell } from './readings.js';
import { reportsOf } from './reports.js';
import { type FactRows, factRows } from './rows.js';
import { rulesText } from './rulesText.js';
import { sealedHours } from './sealedHours.js';
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
import { referenceOf } from './texts.js';
import { type Tracks, tracks } from './tracks.js';

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
  /** Files that another version of this program made, and this one makes otherwise: nobody can tell its words from a forger's. */
  readonly uncompared: readonly string[];
  /** What could not be checked, a sentence each. */
  readonly notes: readonly string[];
}

/**
 * Checks all of a bundle: every byte, every row, every chain, every ruling from the readings, and every page.
 *
 * @param version of this program: pages that another version wrote may differ
 * @throws {Refusal} when the folder is no bundle, or one of a newer version
 */
export async function checkBundle(folder: string, version: string = installedVersion()): Promise<Checked> {
  const { files, findings: inFiles } = await checkFiles(folder);
  // What the manifest found about a file need not be said again.
  const named = new Set(inFiles.map(({ file }) => file));
  const { descriptor, findings: inDescriptor } = checkDescriptor(folder, files, named);
  const findings = [...inFiles, ...inDescriptor];
  const nothing = { files: files.size, judged: 0, readings: 0, proven: 0, uncompared: [], notes: [] };
  if (descriptor === null) return { ...nothing, findings, about: null };
  const about = descriptor.stillwarm;
  const tables = about.hasPeople ? [...TABLES, TEXTS] : TABLES;
  findings.push(...tables.flatMap((table) => schemaFindings(descriptor, table)));
  const chains = about.isPublic ? [] : about.chains.map((told) => readChain(folder, told));
  findings.push(...chains.flatMap((chain) => chain.findings), ...checkWitnesses(chains));
  const asParquet = [...files.keys()].some((path) => path.endsWith('.parquet'));
  const wanted = new Set([
    ...tables.flatMap((table) => [fileOf(table), ...(asParquet ? [parquetOf(table)] : [])]),
    'rules.json',
    ...chains.map(({ store }) => factsFile(store)),
  ]);
  const missing = [...wanted].filter((file) => !files.has(file));
  const extra = [...files.keys()].filter(
    (path) => !wanted.has(path) && !BESIDE.has(path) && !path.startsWith('reports/'),
  );
  const unsaid = (file: string) => !findings.some((each) => each.file === file);
  findings.push(
    ...missing.filter(unsaid).map((file) => inFile(file, 'is missing, and every bundle has it')),
    ...extra.filter(unsaid).map((file) => inFile(file, 'is no file of a bundle')),
  );
  if (missing.length > 0) return { ...nothing, findings, about };
  const kept = tracks();
  const readingsAgain = asParquet ? parquetHash(readingsParquet) : null;
  const { found, ...contents } = checkContents({
    folder,
    about,
    tables,
    chains,
    take: (told, offset) => {
      if (!about.isPublic) kept.add(told.reading);
      readingsAgain?.add({ told, at: told.reading.utc, offset });
    },
    findings,
  });
  const checked = { findings, about, files: files.size, ...contents };
  if (findings.length > 0)
    return {
      ...checked,
      uncompared: [],
      notes: [
        `README.md, ${DESCRIPTOR}, reports and Parquet files were not made anew, for something was found before that.`,
      ],
    };
  const derived = checkDerived({
    folder,
    files,
    descriptor,
    tables,
    rows: new Map([
      ...[...found].map(([{ name }, { rows }]) => [name, rows.length] as const),
      [READINGS.name, contents.readings],
    ]),
    parquet: readingsAgain === null ? [] : parquetAgain(found, readingsAgain.end()),
    reports: about.isPublic ? null : reportsAgain(folder, descriptor, chains, kept),
    version,
  });
  return { ...checked, ...derived };
}

/** The hashes that the tables have as Parquet, one after the other. */
function* parquetAgain(
  found: ReadonlyMap<Table, FoundTable>,
  readings: string,
): Generator<readonly [string, string]> {
  yield [parquetOf(READINGS), readings];
  for (const [table, rows] of found) {
    const again = parquetHash<Row>((put) => tableParquet(table, put));
    for (const row of valuesOf(table, rows)) again.add(row);
    yield [parquetOf(table), again.end()];
  }
}

/** The reports, made anew of what is here; all of it was checked. */
function reportsAgain(
  folder: string,
  { created, stillwarm: about }: Descriptor,
  chains: readonly FoundChain[],
  kept: Tracks,
): Iterable<ReportFile> {
  const texts = new Map(
    about.hasPeople
      ? valuesOf(TEXTS, readTable(folder, TEXTS)).map(({ ref, text }) => [ref, String(text)])
      : [],
  );
  return reportsOf({
    chains: chains.map(({ store, links, facts }) => ({ store, links, facts: facts! })),
    madeIn: about.madeIn!,
    visits: about.visits,
    tracks: kept,
    text: (ref) => texts.get(ref) ?? null,
    now: parseInstant(created!)!,
    version: about.writtenBy,
    withPeople: about.hasPeople,
  });
}

interface Contents {
  readonly folder: string;
  readonly about: About;
  readonly tables: readonly Table[];
  readonly chains: readonly FoundChain[];
  readonly take: ReadingsCheck['take'];
  readonly findings: Finding[];
}

/** Holds what the files say against each other; all of them are there. */
function checkContents({ folder, about, tables, chains, take, findings }: Contents): Pick<
  Checked,
  'judged' | 'readings' | 'proven'
> & {
  /** All tables but the readings. */
  readonly found: ReadonlyMap<Table, FoundTable>;
} {
  const found = new Map(
    tables.filter((table) => table !== READINGS).map((table) => [table, readTable(folder, table)]),
  );
  const nothing = { judged: 0, readings: 0, proven: 0, found };
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
  if (about.isPublic) findings.push(...checkPublic(about, found, rules.sets));
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
    return nothing;
  }
  const seatings = values(SEATINGS);
  const again = judgedAgain(
    { folder, about, chains, exposures, seatings, calibrations: values(CALIBRATIONS), take },
    rules.sets,
    findings,
  );
  if (again === null) return nothing;
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
  return { judged: again.rulings.length, readings, proven, found };
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
  return shapeOf(resource.schema) === shapeOf(schemaOf(table))
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
    const text = readFileSync(join(folder, file), 'utf8');
    const { rules } = JSON.parse(text) as { rules: unknown[] };
    const sets = rules.map((each) => parseRules(each, 'a rule set'));
    // A key that stands twice, or beside the rule sets, would mean one thing here and another elsewhere.
    if (text !== rulesText(sets.map(rulesToJson)))
      findings.push(inFile(file, 'is not written as bundles write it: every key once, and none besides'));
    return { json: rules, sets };
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
  readonly take: ReadingsCheck['take'];
}

/** Null when what the tables say cannot be judged at all. */
function judgedAgain(
  { folder, about, chains, exposures, seatings, calibrations, take }: ToJudge,
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
      take,
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
