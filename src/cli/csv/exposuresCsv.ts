import { overlap } from '../../exposure/timeline.js';
import type { Exposure, Seating } from '../../exposure/types.js';
import { UNCORRECTED } from '../../exposure/uncertainty.js';
import { parseDecimal } from '../../units/number.js';
import { type CelsiusDifference, celsiusDifference } from '../../units/temperature.js';
import { durationMs, formatInstant, type UtcMs } from '../../units/time.js';
import { type CsvColumns, type CsvRow, readCsv } from './csv.js';
import { instantIn, textIn } from './csvCells.js';

const COLUMNS: CsvColumns = {
  required: ['cup', 'probe', 'load', 'turn'],
  optional: ['from', 'to', 'uncertainty'],
};
/** Wider than the span of readings that are ever used: a larger figure is a mistake. */
const UNCERTAINTY_MAX = 100;
const EXACT = { load: durationMs(0), turn: durationMs(0) };

interface SeatingRow {
  readonly row: CsvRow;
  readonly seating: Seating;
}

interface CupRows {
  readonly cup: string;
  readonly load: UtcMs;
  readonly turn: UtcMs;
  readonly first: CsvRow;
  readonly rows: SeatingRow[];
}

/**
 * Reads exposures, one row a seating, in any order; cups in order of first appearance.
 *
 * @throws {Refusal} naming file, line and column: a cell that cannot be read, rows of a cup that disagree on load
 * or turn, a cup turned before it is loaded, a seating that ends before it begins, lies outside its exposure or
 * overlaps another of its cup
 */
export async function readExposuresCsv(path: string): Promise<Exposure[]> {
  const cups = new Map<string, CupRows>();
  for await (const row of readCsv(path, COLUMNS)) addRow(cups, row);
  return [...cups.values()].map((cup) => {
    refuseOverlap(cup);
    return {
      cup: cup.cup,
      load: cup.load,
      turn: cup.turn,
      precision: EXACT,
      seatings: cup.rows.map(({ seating }) => seating),
      spoiled: null,
      remarks: [],
    };
  });
}

function addRow(cups: Map<string, CupRows>, row: CsvRow): void {
  const name = textIn(row, 'cup');
  const probe = textIn(row, 'probe');
  const load = instantIn(row, 'load');
  const turn = instantIn(row, 'turn');
  if (turn < load)
    throw row.refuse(
      'turn',
      `cup ${name} is turned before it is loaded at ${formatInstant(load)}; correct load or turn`,
    );
  const cup = cups.get(name) ?? { cup: name, load, turn, first: row, rows: [] };
  refuseDisagreement(cup, row, 'load', load);
  refuseDisagreement(cup, row, 'turn', turn);
  const from = row.get('from') === '' ? load : instantIn(row, 'from');
  const to = row.get('to') === '' ? turn : instantIn(row, 'to');
  if (to < from)
    throw row.refuse('to', `the seating ends before it begins at ${formatInstant(from)}; correct from or to`);
  if (from > turn)
    throw row.refuse(
      'from',
      `the seating begins after the turn at ${formatInstant(turn)}; correct from or turn`,
    );
  if (to < load)
    throw row.refuse('to', `the seating ends before the load at ${formatInstant(load)}; correct to or load`);
  cup.rows.push({ row, seating: { probe, from, to, uncertainty: uncertaintyIn(row) } });
  cups.set(name, cup);
}

function refuseDisagreement(cup: CupRows, row: CsvRow, column: 'load' | 'turn', given: UtcMs): void {
  if (given !== cup[column])
    throw row.refuse(
      column,
      `cup ${cup.cup} has another ${column} on line ${cup.first.line}, ${formatInstant(cup[column])}; make them equal in all rows of the cup`,
    );
}

function refuseOverlap({ cup, rows }: CupRows): void {
  const clash = overlap(rows.map(({ seating }) => seating));
  if (clash === null) return;
  const [first, second] = rows.filter(({ seating }) => clash.includes(seating)).map(({ row }) => row);
  if (first === undefined || second === undefined) return;
  throw second.refuse(
    'from',
    `cup ${cup} already sits in another slot by line ${first.line}; end one seating before the next begins`,
  );
}

function uncertaintyIn(row: CsvRow): CelsiusDifference {
  const text = row.get('uncertainty');
  if (text === '') return UNCORRECTED;
  const value = parseDecimal(text);
  if (value === null || value < 0 || value > UNCERTAINTY_MAX)
    throw row.refuse(
      'uncertainty',
      `${JSON.stringify(text)} is not an uncertainty; write degrees Celsius from 0 to ${UNCERTAINTY_MAX} with a dot, such as 0.858, or leave it empty`,
    );
  return celsiusDifference(value);
}
