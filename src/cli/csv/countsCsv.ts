import {
  COUNT_MAX,
  CountError,
  type CupCount,
  checkCups,
  type Kind,
  RULINGS,
  type Ruling,
} from '../../../shared/index.js';
import { type CsvRow, readCsv } from './csv.js';
import { optionalNameIn } from './csvCells.js';

/** The columns of a file of counts; an absent optional column reads as empty in every row. */
export const COUNTS_COLUMNS = {
  required: ['yard', 'cup', 'kind', 'tray', 'wash', 'bees'],
  optional: ['arm', 'colony', 'group', 'ruling'],
} as const;

const KINDS: readonly string[] = ['strip', 'no-strip'] satisfies Kind[];
const COUNT = /^\d{1,9}$/;

/**
 * Reads a file of counts, one row a cup: an empty count was not read, no ruling is valid. A cell that cannot
 * be is a Refusal that names file, line, column and cure.
 */
export async function readCounts(path: string): Promise<CupCount[]> {
  const cups: CupCount[] = [];
  const lines = new Map<string, number>();
  for await (const row of readCsv(path, COUNTS_COLUMNS)) {
    const cup = readCup(row);
    const key = JSON.stringify([cup.yard, cup.cup]);
    const earlier = lines.get(key);
    if (earlier !== undefined)
      throw row.refuse(
        'cup',
        `cup ${cup.cup} of yard ${cup.yard} already stands on line ${earlier}; keep one of the two rows, or give this cup its own label`,
      );
    lines.set(key, row.line);
    cups.push(cup);
  }
  return cups;
}

function readCup(row: CsvRow): CupCount {
  const cup: CupCount = {
    yard: readName(row, 'yard'),
    cup: readName(row, 'cup'),
    kind: readKind(row),
    tray: readCount(row, 'tray'),
    wash: readCount(row, 'wash'),
    bees: readCount(row, 'bees'),
    arm: optionalNameIn(row, 'arm'),
    colony: optionalNameIn(row, 'colony'),
    group: optionalNameIn(row, 'group'),
    ruling: readRuling(row),
  };
  try {
    checkCups([cup]);
  } catch (error) {
    if (error instanceof CountError) throw row.refuse(error.field, error.problem);
    throw error;
  }
  return cup;
}

function readName(row: CsvRow, column: string): string {
  const name = optionalNameIn(row, column);
  if (name === null) throw row.refuse(column, `is empty; every row needs its ${column}`);
  return name;
}

function readKind(row: CsvRow): Kind {
  const text = row.get('kind');
  if (!KINDS.includes(text))
    throw row.refuse('kind', `${JSON.stringify(text)} is not a kind of cup; give ${KINDS.join(' or ')}`);
  return text as Kind;
}

function readRuling(row: CsvRow): Ruling {
  const text = row.get('ruling');
  if (text === '') return 'valid';
  const ruling = RULINGS.find((known) => known === text);
  if (ruling === undefined)
    throw row.refuse(
      'ruling',
      `${JSON.stringify(text)} is not a ruling; give one of ${RULINGS.join(', ')}, or nothing for valid`,
    );
  return ruling;
}

function readCount(row: CsvRow, column: 'tray' | 'wash' | 'bees'): number | null {
  const text = row.get(column);
  if (text === '') return null;
  if (!COUNT.test(text))
    throw row.refuse(
      column,
      `${JSON.stringify(text)} is not a count; give a whole number from 0 to ${COUNT_MAX}, or leave the cell empty when it was not read`,
    );
  return Number(text);
}
