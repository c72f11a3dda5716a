import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import { parseDecimal } from '../../units/number.js';
import type { UtcMs } from '../../units/time.js';
import { type CsvColumns, type CsvRow, readCsv, refusalFor } from './csv.js';
import { instantIn, textIn } from './csvCells.js';
import { type PlainColumn, PlainRows } from './plainRows.js';

const COLUMNS: CsvColumns = { required: ['probe', 'time', 'celsius'], optional: ['flag'] };
const NEW_LINE = 10;
const CHUNK_BYTES = 1 << 20;
/** A line longer than this is left to the general parser, which has a limit and a sentence for it. */
const LINE_BYTES_MAX = 1 << 16;
const BYTE_ORDER_MARK = [0xef, 0xbb, 0xbf];

/**
 * Takes one row: the place of its probe among the wanted ones (-1 when it is none of them), its time, its
 * temperature (NaN when the cell is empty, only with a flag), whether it is flagged, and its line. Returns whether
 * to go on.
 */
export type TakeRow = (probe: number, at: UtcMs, celsius: number, flagged: boolean, line: number) => boolean;

/**
 * Reads the rows of a readings file in their order. Every row is checked, and a wrong one is refused where it stands.
 *
 * @throws {Refusal} naming file, line and column: what `readCsv` refuses, a cell that cannot be read, an empty
 * temperature without a flag
 */
export async function readReadingRows(path: string, wanted: readonly string[], take: TakeRow): Promise<void> {
  const source = createReadStream(path, { highWaterMark: CHUNK_BYTES });
  try {
    const rest = await readPlainRows(source, wanted, take);
    if (rest !== null) await readOtherRows(path, rest, wanted, take);
  } catch (error) {
    throw refusalFor(path, error);
  } finally {
    source.destroy();
  }
}

/** What plain reading has left: the header and all that follows, as if the lines between were not there. */
interface Rest {
  readonly source: Readable;
  readonly linesBefore: number;
}

/** Reads as far as rows are plain; null when that was to the end, or when `take` had enough. */
async function readPlainRows(
  source: Readable,
  wanted: readonly string[],
  take: TakeRow,
): Promise<Rest | null> {
  const chunks = source[Symbol.asyncIterator]() as AsyncIterator<Buffer>;
  let bytes: Buffer = Buffer.alloc(0);
  let ended = false;
  const more = async (from: number) => {
    const { value, done } = await chunks.next();
    ended = done === true;
    // The last line may lack its end.
    bytes = Buffer.concat([bytes.subarray(from), ended ? Buffer.from('\n') : value]);
  };
  while (!ended && bytes.indexOf(NEW_LINE) < 0 && bytes.length <= LINE_BYTES_MAX) await more(0);
  const lineEnd = bytes.indexOf(NEW_LINE);
  const header = bytes.subarray(0, lineEnd + 1);
  const columns = lineEnd < 0 ? null : plainColumns(header);
  const rest = (parts: readonly Buffer[], linesBefore: number): Rest => ({
    source: Readable.from(remaining(parts, ended ? null : chunks)),
    linesBefore,
  });
  if (columns === null) return rest([bytes], 0);
  const rows = new PlainRows(columns, wanted);
  let position = lineEnd + 1;
  for (let line = 2; ; ) {
    for (const linesEnd = bytes.lastIndexOf(NEW_LINE) + 1; position < linesEnd; line += 1) {
      const found = rows.read(bytes, position);
      if (found === 'unusual') return rest([header, bytes.subarray(position)], line - 2);
      position = rows.end;
      if (found === 'blank') continue;
      const { probe, at, celsius, flagged } = rows.row;
      if (!take(probe, at, celsius, flagged, line)) return null;
    }
    if (ended) return null;
    if (bytes.length - position > LINE_BYTES_MAX) return rest([header, bytes.subarray(position)], line - 2);
    await more(position);
    position = 0;
  }
}

async function* remaining(
  first: readonly Buffer[],
  chunks: AsyncIterator<Buffer> | null,
): AsyncGenerator<Buffer> {
  yield* first;
  for (let next = await chunks?.next(); next !== undefined && !next.done; next = await chunks?.next())
    yield next.value;
}

/** The columns if the header is plain and right, else null. */
function plainColumns(header: Buffer): readonly PlainColumn[] | null {
  const marked = BYTE_ORDER_MARK.every((byte, index) => header[index] === byte);
  const names = header
    .toString('latin1', marked ? BYTE_ORDER_MARK.length : 0)
    .replace(/\r?\n$/, '')
    .split(',');
  const known = [...COLUMNS.required, ...COLUMNS.optional];
  const isRight =
    names.every((name, index) => known.includes(name) && names.indexOf(name) === index) &&
    COLUMNS.required.every((name) => names.includes(name));
  return isRight ? (names as PlainColumn[]) : null;
}

async function readOtherRows(
  path: string,
  rest: Rest,
  wanted: readonly string[],
  take: TakeRow,
): Promise<void> {
  const places = new Map(wanted.map((name, index) => [name, index]));
  for await (const row of readCsv(path, COLUMNS, rest)) {
    const probe = places.get(textIn(row, 'probe')) ?? -1;
    const at = instantIn(row, 'time');
    const degrees = degreesIn(row);
    if (!take(probe, at, degrees, row.get('flag') !== '', row.line)) return;
  }
}

/** The temperature of a row; NaN when it is empty and the row is flagged. */
function degreesIn(row: CsvRow): number {
  const text = row.get('celsius');
  if (text === '' && row.get('flag') !== '') return Number.NaN;
  if (text === '')
    throw row.refuse('celsius', 'the cell is empty; write the temperature or give the row a flag');
  const value = parseDecimal(text);
  if (value === null)
    throw row.refuse(
      'celsius',
      `${JSON.stringify(text)} is not a temperature; write degrees Celsius with a dot, such as 21.5`,
    );
  return value;
}
