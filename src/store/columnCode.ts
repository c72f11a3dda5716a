/**
 * A column of whole numbers in few bits, one way only: equal columns give equal bytes, on every machine and for ever,
 * so that their hash means something. Readings come in even steps: what is written is by how much each step differs
 * from the most frequent one, as a Rice code (R. F. Rice, JPL 79-22, 1979) with the parameter that takes the fewest bits.
 * Two boards that take turns, or a board that is a little late now and then, make two steps frequent: then each has a
 * short code of its own.
 *
 * A column is: its first number and its most frequent step (varints, signs folded), the parameter (one byte), then the
 * bits, most significant first, filled up with zeros. Parameter 255: every step is that one, and no bits follow. Parameters
 * from 32 on: what the second most frequent step differs by comes first (varint, sign folded); a bit 0 is the most frequent
 * step, 10 the second, 11 comes before the Rice code of another, whose parameter is less by 32. Whichever is shorter is written,
 * the plain one when both are as long.
 */

/** Ones in a row, after which a number follows as it is: Rice codes are for small ones. */
const ESCAPE_ONES = 16;
/** An escaped number's bits: any sign-folded safe integer, in three equal pieces. */
const PIECE_BITS = 18;
const PARAMETER_MAX = 24;
const ALL_EVEN = 255;
const TWO_STEPS = 32;

/** @throws {RangeError} when a number is not a safe integer, or a step between two is not */
export function encodeColumn(values: readonly number[]): Uint8Array {
  const bytes: number[] = [];
  const first = values[0];
  if (first === undefined) return new Uint8Array();
  const steps = values.slice(1).map((value, index) => whole(value - values[index]!));
  const step = mostFrequent(steps);
  writeVarint(bytes, folded(whole(first)));
  writeVarint(bytes, folded(step));
  const rest = steps.map((each) => folded(whole(each - step)));
  if (rest.every((each) => each === 0)) return Uint8Array.from([...bytes, ALL_EVEN]);
  const second = mostFrequent(rest.filter((each) => each !== 0));
  const others = rest.filter((each) => each !== 0 && each !== second);
  const plain = cheapest(rest);
  const paired = cheapest(others);
  const again: number[] = [];
  writeVarint(again, second);
  const evens = rest.length - others.length;
  const seconds = rest.filter((each) => each === second).length;
  const pairedBits = evens + seconds + 2 * others.length + paired.bits + 8 * again.length;
  if (plain.bits <= pairedBits) {
    bytes.push(plain.parameter);
    const bits = new BitWriter(bytes);
    for (const each of rest) bits.rice(each, plain.parameter);
    return Uint8Array.from(bytes);
  }
  bytes.push(TWO_STEPS + paired.parameter, ...again);
  const bits = new BitWriter(bytes);
  for (const each of rest) {
    if (each === 0) bits.bit(0);
    else if (each === second) bits.number(0b10, 2);
    else {
      bits.number(0b11, 2);
      bits.rice(each, paired.parameter);
    }
  }
  return Uint8Array.from(bytes);
}

/** Reads `count` numbers back from `from`, straight into one array. Wrong bytes give wrong numbers, never an endless loop. */
export function decodeColumn(bytes: Uint8Array, from: number, count: number): Float64Array {
  const values = new Float64Array(count);
  if (count === 0) return values;
  const start = readVarint(bytes, from);
  const usual = readVarint(bytes, start.next);
  const parameter = bytes[usual.next] ?? ALL_EVEN;
  const step = unfolded(usual.value);
  let value = unfolded(start.value);
  values[0] = value;
  if (parameter === ALL_EVEN) {
    for (let index = 1; index < count; index += 1) values[index] = value += step;
    return values;
  }
  const isPaired = parameter >= TWO_STEPS;
  const rice = isPaired ? parameter - TWO_STEPS : parameter;
  const again = isPaired ? readVarint(bytes, usual.next + 1) : { value: 0, next: usual.next + 1 };
  const second = step + unfolded(again.value);
  let bit = again.next * 8;
  for (let index = 1; index < count; index += 1) {
    if (isPaired) {
      const two = window(bytes, bit) >>> 30;
      if (two < 0b11) {
        bit += two < 0b10 ? 1 : 2;
        values[index] = value += two < 0b10 ? step : second;
        continue;
      }
      bit += 2;
    }
    const ones = Math.clz32(~window(bytes, bit));
    let rest: number;
    if (ones < ESCAPE_ONES) {
      bit += ones + 1;
      rest = ones;
      if (rice > 0) {
        rest = ones * 2 ** rice + (window(bytes, bit) >>> (32 - rice));
        bit += rice;
      }
    } else {
      bit += ESCAPE_ONES;
      rest = 0;
      for (let piece = 0; piece < 3; piece += 1) {
        rest = rest * 2 ** PIECE_BITS + (window(bytes, bit) >>> (32 - PIECE_BITS));
        bit += PIECE_BITS;
      }
    }
    values[index] = value += step + unfolded(rest);
  }
  return values;
}

/** The bits from `bit` on; the lowest seven of the 32 may be missing. Past the end all are 0. */
function window(bytes: Uint8Array, bit: number): number {
  const at = bit >>> 3;
  return (
    (((bytes[at] ?? 0) << 24) |
      ((bytes[at + 1] ?? 0) << 16) |
      ((bytes[at + 2] ?? 0) << 8) |
      (bytes[at + 3] ?? 0)) <<
    (bit & 7)
  );
}

class BitWriter {
  private free = 0;

  constructor(private readonly bytes: number[]) {}

  rice(value: number, parameter: number): void {
    const ones = Math.floor(value / 2 ** parameter);
    if (ones < ESCAPE_ONES) {
      for (let index = 0; index < ones; index += 1) this.bit(1);
      this.bit(0);
      this.number(value % 2 ** parameter, parameter);
      return;
    }
    for (let index = 0; index < ESCAPE_ONES; index += 1) this.bit(1);
    const piece = 2 ** PIECE_BITS;
    this.number(Math.floor(value / piece / piece), PIECE_BITS);
    this.number(Math.floor(value / piece) % piece, PIECE_BITS);
    this.number(value % piece, PIECE_BITS);
  }

  number(value: number, bits: number): void {
    for (let bit = bits - 1; bit >= 0; bit -= 1) this.bit((value >>> bit) & 1);
  }

  bit(bit: number): void {
    if (this.free === 0) {
      this.bytes.push(0);
      this.free = 8;
    }
    this.free -= 1;
    this.bytes[this.bytes.length - 1]! |= bit << this.free;
  }
}

/** The parameter with which the numbers take the fewest bits, the smallest of equals, and how many. */
function cheapest(values: readonly number[]): { parameter: number; bits: number } {
  let best = 0;
  let least = Number.POSITIVE_INFINITY;
  for (let parameter = 0; parameter <= PARAMETER_MAX; parameter += 1) {
    const divisor = 2 ** parameter;
    let bits = 0;
    for (const value of values) {
      if (bits >= least) break;
      const ones = Math.floor(value / divisor);
      bits += ones < ESCAPE_ONES ? ones + 1 + parameter : ESCAPE_ONES + 3 * PIECE_BITS;
    }
    if (bits >= least) continue;
    least = bits;
    best = parameter;
  }
  return { parameter: best, bits: least };
}

/** The most frequent number, the smallest of equally frequent ones; 0 when there is none. */
function mostFrequent(values: readonly number[]): number {
  const times = new Map<number, number>();
  for (const value of values) times.set(value, (times.get(value) ?? 0) + 1);
  let best = 0;
  let most = 0;
  for (const [value, often] of times)
    if (often > most || (often === most && value < best)) {
      best = value;
      most = often;
    }
  return best;
}

function whole(value: number): number {
  if (!Number.isSafeInteger(value) || Math.abs(value) > 2 ** 52)
    throw new RangeError(`${value} cannot be kept: it is no whole number, or too large`);
  return value;
}

/** 0, -1, 1, -2, 2 ... as 0, 1, 2, 3, 4 ... */
const folded = (value: number): number => (value >= 0 ? value * 2 : -value * 2 - 1);

const unfolded = (value: number): number => (value % 2 === 0 ? value / 2 : -(value + 1) / 2);

/** A number >= 0, seven bits a byte, the lowest first; a set high bit says that more follow. */
export function writeVarint(bytes: number[], value: number): void {
  let rest = value;
  for (; rest >= 128; rest = Math.floor(rest / 128)) bytes.push((rest % 128) + 128);
  bytes.push(rest);
}

export function readVarint(bytes: Uint8Array, from: number): { value: number; next: number } {
  let value = 0;
  let scale = 1;
  for (let at = from; at < from + 8; at += 1) {
    const byte = bytes[at] ?? 0;
    value += (byte % 128) * scale;
    if (byte < 128) return { value, next: at + 1 };
    scale *= 128;
  }
  return { value, next: from + 8 };
}
