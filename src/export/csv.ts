import { neutralised } from '../units/formula.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import { type Cell, COLUMNS, type Column, type Kind } from './columns.js';
import { type Encoder, NOTHING } from './encoder.js';

/** How a table is written. */
export interface Dialect {
  readonly separator: string;
  readonly decimal: '.' | ',';
  /** A mark at the beginning by which spreadsheets know UTF-8. */
  readonly hasMark: boolean;
  /** What begins each cell of a column, so that programs that guess do not take it for a number or a date. */
  readonly prefixes: Readonly<Record<string, string>>;
}

/** Ids of which some are digits only, or digits with an E among them. */
const PREFIXES = { board: 'board-', store: 'store-' };

/** RFC 4180. */
export const PLAIN: Dialect = { separator: ',', decimal: '.', hasMark: false, prefixes: PREFIXES };
/**
 * For spreadsheets of countries with a decimal comma. There is no line "sep=;": it would undo the mark. Opened, such a file
 * asks nobody for the types of its columns: a carrier may be called 007 or 1-2.
 */
export const SPREADSHEET: Dialect = {
  separator: ';',
  decimal: ',',
  hasMark: true,
  prefixes: { ...PREFIXES, carrier: 'carrier-' },
};

const LINE_END = '\r\n';
const MARK = '\ufeff';
const NEEDS_QUOTES = /[",;\r\n]/;
/**
 * Rows as CSV. Only text is quoted or neutralised, never a number. Written by hand because every cell but one is known to
 * need no quotes: a general writer takes several times as long (docs/benchmarks.md).
 */
export function csvEncoder(dialect: Dialect): Encoder {
  const { separator, hasMark } = dialect;
  const texts = COLUMNS.map((column) => textOf(column, dialect));
  const last = COLUMNS.length - 1;
  return {
    head: () =>
      Buffer.from((hasMark ? MARK : '') + COLUMNS.map(({ name }) => name).join(separator) + LINE_END),
    add(rows) {
      let lines = '';
      for (const row of rows)
        for (let index = 0; index <= last; index += 1)
          lines += texts[index]!(COLUMNS[index]!.of(row)) + (index === last ? LINE_END : separator);
      return Buffer.from(lines);
    },
    end: () => NOTHING,
  };
}

type Text = (cell: Cell) => string;

function textOf({ name, kind }: Column, dialect: Dialect): Text {
  const prefix = dialect.prefixes[name] ?? '';
  const plain: Record<Kind, Text> = {
    text: (cell) => quoted(neutralised(cell as string)),
    id: (cell) => prefix + (cell as string),
    instant: (cell) => formatInstant(cell as UtcMs),
    integer: (cell) => String(cell),
    number: dialect.decimal === ',' ? (cell) => String(cell).replace('.', ',') : (cell) => String(cell),
    boolean: (cell) => (cell === true ? 'true' : 'false'),
  };
  const text = plain[kind];
  return (cell) => (cell === null ? '' : text(cell));
}

const quoted = (text: string): string => (NEEDS_QUOTES.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
