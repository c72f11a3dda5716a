import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { CsvError, type Info } from 'csv-parse';
import { parse } from 'csv-parse/sync';
import { type Cell, cellObjection, cellText, cellValue, csvLine, type Row, type Table } from './column.js';
import { type Finding, inFile, onLine } from './finding.js';

/** A row of a table as it stands in its file. */
export interface FoundRow {
  readonly line: number;
  readonly cells: readonly string[];
}

export interface FoundTable {
  /** Those that are in their schema, in the order of the file. */
  readonly rows: readonly FoundRow[];
  readonly findings: readonly Finding[];
}

export const fileOf = ({ name }: Table): string => `${name}.csv`;

/** Reads a table and holds every row against its schema. */
export function readTable(folder: string, table: Table): FoundTable {
  const file = fileOf(table);
  let text: string;
  let records: { info: Info; record: string[] }[];
  try {
    text = readFileSync(join(folder, file), 'utf8');
    records = parse(text, { info: true, relax_column_count: true }) as unknown as typeof records;
  } catch (error) {
    if (error instanceof CsvError)
      return {
        rows: [],
        findings: [onLine(file, Number(error['lines'] ?? 1), `is no CSV (${error.message})`)],
      };
    return { rows: [], findings: [inFile(file, `cannot be read (${(error as Error).message})`)] };
  }
  const names = table.columns.map(({ name }) => name);
  const [header, ...body] = records;
  if (header === undefined || header.record.join(',') !== names.join(','))
    return { rows: [], findings: [onLine(file, 1, `does not name the columns ${names.join(',')}`)] };
  const findings: Finding[] = [];
  const again = records.map(({ record }) => csvLine(record)).join('');
  if (text !== again)
    findings.push(
      onLine(
        file,
        lineOfDifference(text, again),
        'is not written as bundles write it: quotes where they are needed only, CR LF at the end of every line',
      ),
    );
  const seen = new Map<string, number>();
  const rows = body.flatMap(({ info, record: cells }): FoundRow[] => {
    const row = { line: info.lines, cells };
    const found = rowFindings(table, row);
    const key = keyOf(table, cells);
    const twin = seen.get(key);
    if (found.length === 0 && twin !== undefined)
      found.push(onLine(file, row.line, `is there twice, the first time on line ${twin}`));
    seen.set(key, row.line);
    findings.push(...found);
    return found.length === 0 ? [row] : [];
  });
  return { rows, findings };
}

function lineOfDifference(text: string, again: string): number {
  let [line, at] = [1, 0];
  while (at < text.length && text[at] === again[at]) {
    if (text[at] === '\n') line += 1;
    at += 1;
  }
  return line;
}

function rowFindings(table: Table, { line, cells }: FoundRow): Finding[] {
  const file = fileOf(table);
  if (cells.length !== table.columns.length)
    return [
      onLine(file, line, `has ${cells.length} cells, and the table has ${table.columns.length} columns`),
    ];
  return table.columns.flatMap((column, index) => {
    const objection = cellObjection(cells[index]!, column);
    return objection === null ? [] : [onLine(file, line, objection, column.name)];
  });
}

const keyOf = ({ columns, key }: Table, cells: readonly string[]): string =>
  JSON.stringify(key.map((name) => cells[columns.findIndex((column) => column.name === name)]));

/** The rows as values. */
export const valuesOf = ({ columns }: Table, { rows }: FoundTable): Row[] =>
  rows.map(({ cells }) =>
    Object.fromEntries(
      columns.map((column, index): [string, Cell] => [column.name, cellValue(cells[index]!, column)]),
    ),
  );

/**
 * Holds the rows of a table against those that it must have.
 *
 * @param source says where these come from: "the facts say"
 */
export function compareRows(
  table: Table,
  found: FoundTable,
  expected: readonly Row[],
  source: string,
): Finding[] {
  const file = fileOf(table);
  const wanted = new Map(
    expected.map((row) => {
      const cells = table.columns.map((column) => cellText(row[column.name]!, column));
      return [keyOf(table, cells), cells];
    }),
  );
  const findings: Finding[] = [];
  const order: string[] = [];
  const places = new Map([...wanted.keys()].map((key, index) => [key, index]));
  let last = -1;
  for (const { line, cells } of found.rows) {
    const key = keyOf(table, cells);
    const cured = wanted.get(key);
    if (cured === undefined) {
      findings.push(onLine(file, line, `does not belong here: ${source} nothing of ${named(table, cells)}`));
      continue;
    }
    order.push(key);
    for (const [index, column] of table.columns.entries())
      if (cells[index] !== cured[index])
        findings.push(
          onLine(
            file,
            line,
            `is ${shown(cells[index]!)}, and ${source} ${shown(cured[index]!)}`,
            column.name,
          ),
        );
    const place = places.get(key)!;
    if (place < last) findings.push(onLine(file, line, 'stands in another place than it was written in'));
    last = Math.max(last, place);
  }
  const there = new Set(order);
  // A row that is not in its schema was named already.
  const isWhole = found.findings.length === 0;
  if (isWhole)
    for (const [key, cells] of wanted)
      if (!there.has(key)) findings.push(inFile(file, `the row of ${named(table, cells)} is missing`));
  return findings;
}

const shown = (text: string): string => (text === '' ? 'empty' : JSON.stringify(text));

const named = ({ columns, key }: Table, cells: readonly string[]): string =>
  key
    .map((name) => [name, cells[columns.findIndex((column) => column.name === name)]!] as const)
    .filter(([, text]) => text !== '')
    .map(([name, text]) => `${name} ${text}`)
    .join(', ');
