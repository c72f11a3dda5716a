import { parseDecimal } from '../../units/number.js';
import { MS_PER_MINUTE, MS_PER_SECOND, parseInstant, type UtcMs } from '../../units/time.js';

/** What a row of readings says, cell by cell; `celsius` is NaN when the cell is empty. */
export interface PlainRow {
  /** Place in the list of wanted probes, -1 when the probe is not wanted. */
  probe: number;
  at: UtcMs;
  celsius: number;
  flagged: boolean;
}

/** The columns in their order. */
export type PlainColumn = 'probe' | 'time' | 'celsius' | 'flag';

const [COMMA, QUOTE, MINUS, DOT, COLON, PLUS] = [44, 34, 45, 46, 58, 43];
const [NEW_LINE, RETURN, LETTER_T, LETTER_Z, ZERO, SPACE, LAST_PLAIN] = [10, 13, 84, 90, 48, 32, 126];
/** So many digits that a whole number and a power of ten are both held exactly. */
const EXACT_DIGITS = 15;
const POWERS = Array.from({ length: EXACT_DIGITS + 1 }, (_, power) => 10 ** power);
const MS_PER_HOUR = 60 * MS_PER_MINUTE;
const [FNV_START, FNV_PRIME] = [0x811c9dc5 | 0, 0x01000193];

/**
 * Reads rows of readings byte by byte, several times as fast as a general CSV parser, as long as they are plain:
 * no quotes, only ASCII, a full date and time with offset, a decimal temperature or an empty cell beside a flag. It
 * never refuses: at a row that is not so it says so, for a general parser to go on.
 */
export class PlainRows {
  readonly row: PlainRow = { probe: -1, at: 0 as UtcMs, celsius: Number.NaN, flagged: false };
  /** First byte after the row or blank line that was read last. */
  end = 0;
  private readonly probes = new Map<number, { readonly index: number; readonly bytes: Uint8Array }[]>();
  private dayDigits = -1;
  private dayMs = 0;

  constructor(
    private readonly columns: readonly PlainColumn[],
    wanted: readonly string[],
  ) {
    for (const [index, name] of wanted.entries()) {
      const bytes = Buffer.from(name, 'utf8');
      const key = bytes.reduce((state, byte) => Math.imul(state ^ byte, FNV_PRIME), FNV_START);
      this.probes.set(key, [...(this.probes.get(key) ?? []), { index, bytes }]);
    }
  }

  /** Reads the line that begins at `start`; a line end must follow somewhere. Only `unusual` does not move `end`. */
  read(bytes: Uint8Array, start: number): 'row' | 'blank' | 'unusual' {
    const blank = lineEnd(bytes, start);
    if (blank > 0) {
      this.end = blank;
      return 'blank';
    }
    const { row, columns } = this;
    row.flagged = false;
    let position = start;
    for (let column = 0; column < columns.length; column += 1) {
      if (column > 0) {
        if (bytes[position] !== COMMA) return 'unusual';
        position += 1;
      }
      position = this.cell(columns[column] as PlainColumn, bytes, position);
      if (position < 0) return 'unusual';
    }
    const end = lineEnd(bytes, position);
    if (end < 0 || (Number.isNaN(row.celsius) && !row.flagged)) return 'unusual';
    this.end = end;
    return 'row';
  }

  /** Reads the cell that begins at `from`. Returns its end, or -1 when it is not plain. */
  private cell(column: PlainColumn, bytes: Uint8Array, from: number): number {
    switch (column) {
      case 'probe':
        return this.probe(bytes, from);
      case 'time':
        return this.time(bytes, from);
      case 'celsius':
        return this.celsius(bytes, from);
      case 'flag':
        return this.flag(bytes, from);
    }
  }

  private probe(bytes: Uint8Array, from: number): number {
    let key = FNV_START;
    let to = from;
    for (; ; to += 1) {
      const byte = bytes[to] as number;
      if (byte === COMMA || byte === NEW_LINE || byte === RETURN) break;
      if (!isPlain(byte)) return -1;
      key = Math.imul(key ^ byte, FNV_PRIME);
    }
    if (to === from || bytes[from] === SPACE) return -1;
    const candidates = this.probes.get(key);
    this.row.probe = -1;
    if (candidates !== undefined)
      for (const candidate of candidates)
        if (isEqual(candidate.bytes, bytes, from, to)) this.row.probe = candidate.index;
    return to;
  }

  private flag(bytes: Uint8Array, from: number): number {
    let to = from;
    for (; ; to += 1) {
      const byte = bytes[to] as number;
      if (byte === COMMA || byte === NEW_LINE || byte === RETURN) break;
      if (!isPlain(byte)) return -1;
    }
    this.row.flagged = to > from;
    return to;
  }

  private time(bytes: Uint8Array, from: number): number {
    const hour = two(bytes, from + 11);
    const minute = two(bytes, from + 14);
    const second = two(bytes, from + 17);
    if (
      !this.day(bytes, from) ||
      bytes[from + 10] !== LETTER_T ||
      bytes[from + 13] !== COLON ||
      bytes[from + 16] !== COLON ||
      hour > 23 ||
      minute > 59 ||
      second > 59
    )
      return -1;
    let to = from + 19;
    let fraction = 0;
    if (bytes[to] === DOT) {
      const digits = to + 1;
      to = digits;
      while (isDigit(bytes[to] as number)) to += 1;
      if (to === digits || to - digits > 9) return -1;
      fraction = milliseconds(bytes, digits, to);
    }
    let offset = 0;
    if (bytes[to] === LETTER_Z) to += 1;
    else {
      offset = offsetMs(bytes, to);
      if (Number.isNaN(offset)) return -1;
      to += 6;
    }
    const clock = hour * MS_PER_HOUR + minute * MS_PER_MINUTE + second * MS_PER_SECOND;
    this.row.at = (this.dayMs + clock + fraction - offset) as UtcMs;
    return to;
  }

  private day(bytes: Uint8Array, from: number): boolean {
    const century = two(bytes, from);
    const year = two(bytes, from + 2);
    const month = two(bytes, from + 5);
    const day = two(bytes, from + 8);
    if (bytes[from + 4] !== MINUS || bytes[from + 7] !== MINUS) return false;
    const digits = ((century * 1000 + year) * 1000 + month) * 1000 + day;
    if (digits === this.dayDigits) return true;
    const midnight = parseInstant(`${text(bytes, from, from + 10)}T00:00:00Z`);
    if (midnight === null) return false;
    this.dayDigits = digits;
    this.dayMs = midnight;
    return true;
  }

  private celsius(bytes: Uint8Array, from: number): number {
    const isNegative = bytes[from] === MINUS;
    const first = isNegative ? from + 1 : from;
    let to = first;
    let value = 0;
    let point = -1;
    for (; ; to += 1) {
      const digit = (bytes[to] as number) - ZERO;
      if (digit >= 0 && digit <= 9) value = value * 10 + digit;
      else if (digit === DOT - ZERO && point < 0) point = to;
      else break;
    }
    const decimals = point < 0 ? 0 : to - point - 1;
    if (isCellEnd(bytes[to] as number) && point !== first && to > first && to - first <= EXACT_DIGITS) {
      const size = value / (POWERS[decimals] as number);
      this.row.celsius = isNegative ? -size : size;
      return to;
    }
    return this.unevenCelsius(bytes, from);
  }

  /** An empty cell, an exponent, a plus sign, many digits: seldom, hence by way of a text. */
  private unevenCelsius(bytes: Uint8Array, from: number): number {
    let to = from;
    while (!isCellEnd(bytes[to] as number)) to += 1;
    const parsed = to === from ? Number.NaN : parseDecimal(text(bytes, from, to));
    if (parsed === null) return -1;
    this.row.celsius = parsed;
    return to;
  }
}

const isDigit = (byte: number): boolean => byte >= ZERO && byte <= ZERO + 9;
const isPlain = (byte: number): boolean => byte >= SPACE && byte <= LAST_PLAIN && byte !== QUOTE;
const isCellEnd = (byte: number): boolean => byte === COMMA || byte === NEW_LINE || byte === RETURN;

/** The first byte after a line end at `at`; -1 when there is none. */
function lineEnd(bytes: Uint8Array, at: number): number {
  if (bytes[at] === NEW_LINE) return at + 1;
  return bytes[at] === RETURN && bytes[at + 1] === NEW_LINE ? at + 2 : -1;
}

/** A number of two digits; above every limit when it is none. */
function two(bytes: Uint8Array, from: number): number {
  const tens = (bytes[from] as number) - ZERO;
  const ones = (bytes[from + 1] as number) - ZERO;
  return tens >= 0 && tens <= 9 && ones >= 0 && ones <= 9 ? tens * 10 + ones : 100;
}

/** The same rounding as `parseInstant`. */
const wholeMs = (digits: string): number => Math.floor(Number(`0.${digits}`) * MS_PER_SECOND);
const THOUSANDTHS = Array.from({ length: 1000 }, (_, ms) => wholeMs(String(ms).padStart(3, '0')));

function milliseconds(bytes: Uint8Array, from: number, to: number): number {
  if (to - from !== 3) return wholeMs(text(bytes, from, to));
  const ms = two(bytes, from) * 10 + ((bytes[from + 2] as number) - ZERO);
  return THOUSANDTHS[ms] as number;
}

/** The offset `+HH:MM` in ms; NaN when it is none. */
function offsetMs(bytes: Uint8Array, from: number): number {
  const sign = bytes[from] === PLUS ? 1 : bytes[from] === MINUS ? -1 : 0;
  const hour = two(bytes, from + 1);
  const minute = two(bytes, from + 4);
  if (sign === 0 || bytes[from + 3] !== COLON || hour > 23 || minute > 59) return Number.NaN;
  return sign * (hour * 60 + minute) * MS_PER_MINUTE;
}

function isEqual(name: Uint8Array, bytes: Uint8Array, from: number, to: number): boolean {
  if (name.length !== to - from) return false;
  for (let index = 0; index < name.length; index += 1) if (name[index] !== bytes[from + index]) return false;
  return true;
}

const text = (bytes: Uint8Array, from: number, to: number): string =>
  String.fromCharCode(...bytes.subarray(from, to));
