import { parseInstant, type UtcMs } from '../../units/time.js';
import type { CsvRow } from './csv.js';

/** The text of a cell that may not be empty. */
export function textIn(row: CsvRow, column: string): string {
  const text = row.get(column);
  if (text.trim() === '') throw row.refuse(column, `the cell is empty; write the ${column}`);
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
