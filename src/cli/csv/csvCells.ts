import { parseInstant, type UtcMs } from '../../units/time.js';
import type { CsvRow } from './csv.js';

const NAME_LENGTH_MAX = 100;

/** The text of a cell that may not be empty. */
export function textIn(row: CsvRow, column: string): string {
  const text = row.get(column);
  if (text.trim() === '') throw row.refuse(column, `the cell is empty; write the ${column}`);
  return text;
}

/** The name in a cell, as it is written; null when it is left out. */
export function optionalNameIn(row: CsvRow, column: string): string | null {
  const text = row.get(column);
  if (text === '') return null;
  // Two spellings of one name would split a yard, an arm or a colony in silence.
  if (text !== text.trim() || /\p{Cc}/u.test(text) || text.length > NAME_LENGTH_MAX)
    throw row.refuse(
      column,
      `${JSON.stringify(text.slice(0, NAME_LENGTH_MAX))} is not a name; give at most ${NAME_LENGTH_MAX} characters with no space around them and no line break inside`,
    );
  return text;
}

/** The RFC 3339 time of a cell. */
export function instantIn(row: CsvRow, column: string): UtcMs {
  const text = row.get(column);
  const instant = parseInstant(text);
  if (instant === null)
    throw row.refuse(
      column,
      `${JSON.stringify(text)} is not a time with its offset; write it like 2026-05-01T06:30:00+02:00`,
    );
  return instant;
}
