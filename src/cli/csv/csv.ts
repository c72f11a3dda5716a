import { createReadStream } from 'node:fs';
import type { Readable } from 'node:stream';
import { CsvError, type Info, parse } from 'csv-parse';
import { Refusal } from '../../units/refusal.js';

/** The columns a CSV file must have and those it may have; any other column is refused. */
export interface CsvColumns {
  readonly required: readonly string[];
  readonly optional: readonly string[];
  /** Where such a file comes from, when its columns are others. */
  readonly hint?: string;
}

/** One row of a CSV file below its header. */
export interface CsvRow {
  /** The line of the file on which the row begins; the header stands on line 1. */
  readonly line: number;
  /** The text in a column, exactly as written; '' when the column is an absent optional one. */
  get(column: string): string;
  /** A refusal that names file, line and column; `problem` says what is wrong there and what to do. */
  refuse(column: string, problem: string): Refusal;
}

/** A file's header line and its last lines; `linesBefore` stood between the two. */
export interface CsvRest {
  readonly source: Readable;
  readonly linesBefore: number;
}

/** A row longer than this is an unclosed quote, not a row. */
const ROW_BYTES_MAX = 65_536;
const LINE_ENDS = ['\r\n', '\n', '\r'];
/** What a UTF-8 decoder leaves where the bytes were not UTF-8. */
const NOT_UTF8 = '\ufffd';

/**
 * Reads the rows of a CSV file one after the other: RFC 4180, UTF-8 with or without a byte order mark, any
 * of the three line ends, blank lines skipped, columns in any order.
 *
 * @throws {Refusal} naming file, line, column and cure: the file cannot be read or is not UTF-8, a column is
 * missing, unknown or there twice, a row has more or fewer cells than the header, a quote is out of place.
 *
 * @param rest reads on in a file whose first lines were read otherwise
 */
export async function* readCsv(path: string, columns: CsvColumns, rest?: CsvRest): AsyncGenerator<CsvRow> {
  const linesBefore = rest?.linesBefore ?? 0;
  let header: Header | null = null;
  for await (const { line, cells } of records(path, linesBefore, rest?.source ?? createReadStream(path))) {
    if (header === null) {
      header = readHeader(path, line - linesBefore, cells, columns);
      continue;
    }
    if (cells.length !== header.names.length)
      throw new Refusal(
        `${path}, line ${line}: ${cells.length} cells where the header has ${header.names.length}; give every row one cell a column, and put quotes around a cell that holds a comma`,
      );
    yield new Row(path, line, cells, header);
  }
  if (header === null)
    throw new Refusal(
      `${path}, line 1: the file is empty; its first line must name the columns ${columns.required.join(',')}`,
    );
}

interface Header {
  readonly names: readonly string[];
  readonly index: ReadonlyMap<string, number>;
  readonly known: ReadonlySet<string>;
}

class Row implements CsvRow {
  constructor(
    private readonly path: string,
    readonly line: number,
    private readonly cells: readonly string[],
    private readonly header: Header,
  ) {}

  get(column: string): string {
    const index = this.header.index.get(column);
    if (index !== undefined) return this.cells[index] ?? '';
    if (this.header.known.has(column)) return '';
    throw new RangeError(`no column ${column} was declared for ${this.path}`);
  }

  refuse(column: string, problem: string): Refusal {
    return new Refusal(`${this.path}, line ${this.line}, column ${column}: ${problem}`);
  }
}

function readHeader(path: string, line: number, names: readonly string[], columns: CsvColumns): Header {
  const known = new Set([...columns.required, ...columns.optional]);
  const where = `${path}, line ${line}`;
  const index = new Map<string, number>();
  const missing = () => columns.required.filter((name) => !names.includes(name));
  const comma = names.length === 1 && /[;\t]/.test(names[0] ?? '') ? '; separate the columns by commas' : '';
  for (const [position, name] of names.entries()) {
    if (!known.has(name))
      throw new Refusal(
        `${where}: unknown column ${JSON.stringify(name)}; remove it or rename it, the columns are ${describe(columns)}${comma}`,
      );
    if (index.has(name))
      throw new Refusal(`${where}: column ${name} is there twice; keep one of the two and remove the other`);
    index.set(name, position);
  }
  if (missing().length > 0)
    throw new Refusal(
      `${where}: column ${missing().join(', ')} is missing; add it, the columns are ${describe(columns)}`,
    );
  return { names, index, known };
}

const describe = ({ required, optional, hint }: CsvColumns): string =>
  `${required.join(',')}${optional.length === 0 ? '' : ` and, if wanted, ${optional.join(',')}`}${hint === undefined ? '' : ` (${hint})`}`;

async function* records(
  path: string,
  linesBefore: number,
  source: Readable,
): AsyncGenerator<{ line: number; cells: string[] }> {
  const parser = parse({
    info: true,
    bom: true,
    encoding: 'utf8',
    record_delimiter: LINE_ENDS,
    relax_column_count: true,
    skip_empty_lines: true,
    max_record_size: ROW_BYTES_MAX,
  });
  source.on('error', (error) => parser.destroy(error));
  source.pipe(parser);
  // The parser counts a CR LF inside quotes as two lines.
  let countedTwice = 0;
  try {
    for await (const { info, record } of parser as AsyncIterable<{ info: Info; record: string[] }>) {
      const text = record.join(',');
      let line = info.lines + linesBefore - countedTwice;
      if (/[\r\n]/.test(text)) {
        line -= text.match(/[\r\n]/g)?.length ?? 0;
        countedTwice += text.match(/\r\n/g)?.length ?? 0;
      }
      if (text.includes(NOT_UTF8))
        throw new Refusal(`${path}, line ${line}: the text is not UTF-8; save the file as CSV UTF-8`);
      yield { line, cells: record };
    }
  } catch (error) {
    throw refusalFor(path, error, linesBefore - countedTwice);
  } finally {
    source.destroy();
  }
}

/** What a failure to read a CSV file is to people; `linesAside` is added to the parser's count. */
export function refusalFor(path: string, error: unknown, linesAside = 0): unknown {
  if (error instanceof Refusal) return error;
  if (error instanceof CsvError) {
    const at = `${path}, line ${Number(error['lines']) + linesAside}`;
    switch (error.code) {
      case 'CSV_QUOTE_NOT_CLOSED':
      case 'CSV_MAX_RECORD_SIZE':
        return new Refusal(
          `${at}: a quote that was opened here or above is never closed; close or remove it`,
        );
      default:
        return new Refusal(
          `${at}: a quote is out of place; put quotes around the whole cell and double each quote inside it`,
        );
    }
  }
  const code = (error as NodeJS.ErrnoException).code;
  switch (code) {
    case 'ENOENT':
      return new Refusal(`${path}: there is no such file; check the name`);
    case 'EISDIR':
      return new Refusal(`${path}: this is a folder; name a CSV file`);
    case 'EACCES':
    case 'EPERM':
      return new Refusal(`${path}: the file may not be read; change its permissions`);
    default:
      return code === undefined
        ? error
        : new Refusal(`${path}: the file cannot be read (${code}); check the disk and try again`);
  }
}
