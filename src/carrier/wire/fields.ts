import { parseRomId, type RomId } from '../../units/ids.js';
import { type UtcMs, utcMs } from '../../units/time.js';

/** Reads and writes the fields of a line: hexadecimal numbers of fixed width, and one-letter codes. */
export function hex(text: string | undefined, digits: number): number | null {
  return text?.length === digits && /^[0-9A-F]+$/.test(text) ? Number.parseInt(text, 16) : null;
}

/** A whole number in `digits` upper-case hex digits; a RangeError when it does not fit. */
export function toHex(value: number, digits: number): string {
  if (!Number.isInteger(value) || value < 0 || value >= 16 ** digits)
    throw new RangeError(`${value} does not fit into ${digits} hex digits`);
  return value.toString(16).toUpperCase().padStart(digits, '0');
}

/** Sixteen hex digits, in bus order, as a ROM id; null when it is none or its CRC is wrong. */
export const romOf = (digits: string): RomId | null => parseRomId(digits.match(/../g)?.join('-') ?? '');

/** Unix seconds in eight hex digits as an instant; `unknown` for zeros, null for what is no such field. */
export function unixSeconds(text: string | undefined): UtcMs | 'unknown' | null {
  const seconds = hex(text, 8);
  if (seconds === null) return null;
  return seconds === 0 ? 'unknown' : utcMs(seconds * 1000);
}

/** Two's complement of 16 bits. */
export const signed16 = (value: number): number => (value << 16) >> 16;

export function inverse<Name extends string>(codes: Record<Name, string>): Map<string, Name> {
  return new Map(Object.entries(codes).map(([name, code]) => [code as string, name as Name]));
}
