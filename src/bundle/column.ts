import { looksLikeFormula, neutralised, plainText } from '../units/formula.js';
import { formatInstant, type UtcMs } from '../units/time.js';

/** What a cell of a bundle holds; null is an empty cell. Instants are numbers here and RFC 3339 text in the file. */
export type Cell = string | number | boolean | null;
export type Row<Name extends string = string> = Readonly<Record<Name, Cell>>;

/**
 * `text` is words of people, neutralised when a spreadsheet would take them for a formula; `id` can never begin like one.
 */
export type Kind = 'text' | 'id' | 'integer' | 'number' | 'instant' | 'boolean';

export interface Column {
  readonly name: string;
  readonly kind: Kind;
  /** What it is, in the docs and in the descriptor. */
  readonly what: string;
  /** Whether every row has it. */
  readonly required: boolean;
  /** The only values it may have. */
  readonly oneOf?: readonly string[];
  readonly min?: number;
  /** Begins each of its cells: programs that guess would take some of these ids for numbers. */
  readonly prefix?: string;
}

export interface Table {
  /** Its file is `NAME.csv`. */
  readonly name: string;
  readonly what: string;
  readonly columns: readonly Column[];
  /** The columns by which its rows differ. */
  readonly key: readonly string[];
}

/** A cell as it is written, before quotes. */
export function cellText(value: Cell, { kind, prefix = '' }: Column): string {
  if (value === null) return '';
  if (kind === 'instant') return formatInstant(value as UtcMs);
  return kind === 'text' ? neutralised(String(value)) : prefix + String(value);
}

const NEEDS_QUOTES = /[",\r\n]/;
const quoted = (text: string): string => (NEEDS_QUOTES.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

/** One line of a CSV file (RFC 4180), with its end. */
export const csvLine = (cells: readonly string[]): string => `${cells.map(quoted).join(',')}\r\n`;

export const headerLine = ({ columns }: Table): string => csvLine(columns.map(({ name }) => name));
export const rowLine = ({ columns }: Table, row: Row): string =>
  csvLine(columns.map((column) => cellText(row[column.name]!, column)));

const INSTANT = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;
const INTEGER = /^-?(?:0|[1-9]\d*)$/;

/** Why the text of a cell is not in its column; null when it is. */
export function cellObjection(text: string, column: Column): string | null {
  if (text === '') return column.required ? 'is empty, and every row has it' : null;
  if (column.oneOf !== undefined && !column.oneOf.includes(text))
    return `is ${JSON.stringify(text)}, not one of ${column.oneOf.join(', ')}`;
  switch (column.kind) {
    case 'integer':
      if (!INTEGER.test(text) || !Number.isSafeInteger(Number(text))) return notA(text, 'a whole number');
      return below(text, column);
    case 'number':
      return text !== String(Number(text)) || !Number.isFinite(Number(text))
        ? notA(text, 'a number as JSON writes it')
        : below(text, column);
    case 'instant':
      return !INSTANT.test(text) ||
        Number.isNaN(Date.parse(text)) ||
        formatInstant(Date.parse(text) as UtcMs) !== text
        ? notA(text, 'a time in UTC with milliseconds')
        : null;
    case 'boolean':
      return text === 'true' || text === 'false' ? null : notA(text, 'true or false');
    case 'text':
      return neutralised(plainText(text)) === text
        ? null
        : 'begins as a formula would, and has no mark before it';
    case 'id':
      return looksLikeFormula(text) || !text.startsWith(column.prefix ?? '') ? notA(text, 'an id') : null;
  }
}

const notA = (text: string, what: string) => `is ${JSON.stringify(text)}, which is not ${what}`;
const below = (text: string, { min }: Column) =>
  min !== undefined && Number(text) < min ? `is ${text}, below ${min}` : null;

/** The value of a cell that `cellObjection` has nothing to say against. */
export function cellValue(text: string, { kind, prefix = '' }: Column): Cell {
  if (text === '') return null;
  switch (kind) {
    case 'integer':
    case 'number':
      return Number(text);
    case 'instant':
      return Date.parse(text);
    case 'boolean':
      return text === 'true';
    case 'text':
      return plainText(text);
    case 'id':
      return text.slice(prefix.length);
  }
}
