import type { RuleSet } from '../exposure/ruleSet.js';
import { formatInstant, utcMs } from '../units/time.js';
import type { Cup } from '../visit/cup.js';
import { armOf } from '../visit/result.js';
import { type FoundTable, fileOf, valuesOf } from './checkTables.js';
import type { Row, Table } from './column.js';
import { type About, DESCRIPTOR } from './descriptor.js';
import { type Finding, inFile, onLine } from './finding.js';
import { NEW_NAMES, shiftOf } from './publicFacts.js';
import { CALIBRATIONS, CORRECTIONS, COUNTS, CUPS, PROBES, SEATINGS, VISITS } from './tables.js';

const named = (letter: string) => ({
  what: `a new name (${letter} and a number)`,
  isRight: (value: unknown) => value === null || new RegExp(`^${letter}[1-9]\\d*$`).test(String(value)),
});
const EMPTY = { what: 'empty', isRight: (value: unknown) => value === null };

/** What cells of a public bundle must be, by the columns that could tell of a person or a place. */
const CELLS: readonly (readonly [Table, string, ReturnType<typeof named>])[] = [
  [VISITS, 'zone', EMPTY],
  [VISITS, 'piece', EMPTY],
  [VISITS, 'lot', named(NEW_NAMES.lot)],
  [CUPS, 'lot', named(NEW_NAMES.lot)],
  [CUPS, 'colony', named(NEW_NAMES.colony)],
  [CUPS, 'mother_line', named(NEW_NAMES.group)],
  [CUPS, 'replaced_by', named(NEW_NAMES.cup)],
  [SEATINGS, 'carrier', named(NEW_NAMES.carrier)],
  [PROBES, 'carrier', named(NEW_NAMES.carrier)],
  [CALIBRATIONS, 'carrier', named(NEW_NAMES.carrier)],
  [CORRECTIONS, 'who_ref', EMPTY],
  [CORRECTIONS, 'why_ref', EMPTY],
];
const CORRECTED = ['carrier', 'lot', 'colony', 'group'] as const;

/**
 * Whether a bundle that calls itself public is one: no name but new ones, no zone, no reference to words of people, coarser
 * dates. Without that a full bundle stripped of its facts would pass as one, and so would names that were put in.
 */
export function checkPublic(
  about: About,
  found: ReadonlyMap<Table, FoundTable>,
  rules: readonly RuleSet[] | null,
): Finding[] {
  const rowsOf = (table: Table) => valuesOf(table, found.get(table)!);
  const lineOf = (table: Table, index: number) => found.get(table)!.rows[index]!.line;
  const findings: Finding[] = [];
  const at = (table: Table, index: number, column: string, value: unknown, what: string) =>
    findings.push(
      onLine(
        fileOf(table),
        lineOf(table, index),
        `is ${value === null ? 'empty' : JSON.stringify(value)}, and in a public bundle it is ${what}`,
        column,
      ),
    );

  for (const [table, column, { what, isRight }] of CELLS)
    for (const [index, row] of rowsOf(table).entries())
      if (!isRight(row[column])) at(table, index, column, row[column], what);
  for (const [index, row] of rowsOf(CORRECTIONS).entries()) {
    const field = CORRECTED.find((each) => each === row['field']);
    for (const column of field === undefined ? [] : ['old', 'new']) {
      const { what, isRight } = named(NEW_NAMES[field!]);
      if (!isRight(row[column])) at(CORRECTIONS, index, column, row[column], what);
    }
  }

  const [visits, cups] = [rowsOf(VISITS), rowsOf(CUPS)];
  // So many things as there are, so many names: none that was left from before.
  const numbered = (table: Table, column: string, letter: string) => {
    const values = rowsOf(table).map((row) => row[column]);
    const last = new Set(values).size;
    const { isRight } = named(letter);
    for (const [index, value] of values.entries())
      if (!isRight(value) || Number(String(value).slice(letter.length)) > last)
        at(table, index, column, value, `one of ${letter}1 to ${letter}${last}`);
  };
  numbered(VISITS, 'visit', NEW_NAMES.visit);
  numbered(VISITS, 'yard', NEW_NAMES.yard);
  numbered(CUPS, 'cup', NEW_NAMES.cup);
  if (about.visits.join() !== visits.map(({ visit }) => visit).join())
    findings.push(inFile(DESCRIPTOR, 'key stillwarm.visits: names other visits than visits.csv'));
  const opened = visits[0]?.['opened_utc'];
  if (typeof opened === 'number' && shiftOf({ visits: [{ opened: utcMs(opened) }] }) > 0)
    at(VISITS, 0, 'opened_utc', formatInstant(utcMs(opened)), 'on the first day of its month');

  const yards = new Map(visits.map((row) => [row['visit'], row['yard']]));
  for (const [index, row] of cups.entries()) {
    const arm = armOf({ kind: row['kind'], active: row['active'], lot: row['lot'] } as Cup);
    if (row['arm'] !== arm) at(CUPS, index, 'arm', row['arm'], `${arm ?? 'empty'}, its active and lot`);
    if (yards.get(row['visit']!) !== row['yard']) at(CUPS, index, 'yard', row['yard'], 'that of its visit');
  }
  const byCup = new Map<unknown, Row>(cups.map((row) => [row['cup'], row]));
  for (const [index, row] of rowsOf(COUNTS).entries())
    for (const column of ['visit', 'yard', 'kind', 'arm', 'colony', 'mother_line'])
      if (row[column] !== (byCup.get(row['cup'])?.[column] ?? null))
        at(COUNTS, index, column, row[column], 'that of cups.csv');
  const counted = new Set(rowsOf(COUNTS).map(({ cup }) => cup));
  for (const { cup } of cups)
    if (!counted.has(cup)) findings.push(inFile(fileOf(COUNTS), `the row of cup ${cup} is missing`));
  const { isRight } = named(NEW_NAMES.rules);
  for (const { name, version } of rules ?? [])
    if (!isRight(name) || version !== 1)
      findings.push(
        inFile(
          'rules.json',
          `names a rule set ${JSON.stringify(name)}, version ${JSON.stringify(version)}, and in a public bundle it is ${NEW_NAMES.rules}1, version 1, or the like`,
        ),
      );
  return findings;
}
