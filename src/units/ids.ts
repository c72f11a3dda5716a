/** Identifiers that must not be mixed up. Each `parse…` returns null for text that is not such an id. */
declare const idBrand: unique symbol;
type Id<Name extends string> = string & { readonly [idBrand]: Name };

/**
 * A probe's 64-bit ROM code: family, six serial bytes, CRC, in the order the bus sends them, as
 * upper-case hex pairs with hyphens (28-13-9B-BB-0B-00-00-1F). Its CRC-8 has been checked.
 */
export type RomId = Id<'RomId'>;
/** The id a board announces in its boot line: eight upper-case hex digits. */
export type BoardId = Id<'BoardId'>;
/** A carrier's short name, as painted on its lid. */
export type CarrierId = Id<'CarrierId'>;
/** A cup's label, unique across all vehicles for ever. */
export type CupLabel = Id<'CupLabel'>;
/** A visit's name. */
export type VisitId = Id<'VisitId'>;
/** A yard's code name. */
export type YardCode = Id<'YardCode'>;

const ROM = /^[0-9A-F]{2}(-[0-9A-F]{2}){7}$/;
const BOARD = /^[0-9A-F]{8}$/;
const LABEL_LENGTH_MAX = 32;
const LABEL = /^[A-Za-z0-9][A-Za-z0-9._-]*$/;

/** CRC-8 of the 1-Wire ROM code and scratchpad (x^8+x^5+x^4+1 reflected, initial 0); 0 over data and CRC. */
export function crc8(bytes: Iterable<number>): number {
  let crc = 0;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >> 1) ^ 0x8c : crc >> 1;
  }
  return crc;
}

export function parseRomId(text: string): RomId | null {
  const upper = text.toUpperCase();
  if (!ROM.test(upper)) return null;
  const bytes = upper.split('-').map((pair) => Number.parseInt(pair, 16));
  return bytes.some((byte) => byte !== 0) && crc8(bytes) === 0 ? (upper as RomId) : null;
}

/** Genuine DS18B20 have the ROM pattern 28-xx-xx-xx-xx-00-00-xx (published survey of clones, CC BY). */
export const isUsualRom = (rom: RomId): boolean => /^28-(?:[0-9A-F]{2}-){4}00-00-[0-9A-F]{2}$/.test(rom);

export function parseBoardId(text: string): BoardId | null {
  return BOARD.test(text) ? (text as BoardId) : null;
}

const parseLabel = (text: string): string | null =>
  text.length <= LABEL_LENGTH_MAX && LABEL.test(text) ? text : null;

export const parseCarrierId = (text: string): CarrierId | null => parseLabel(text) as CarrierId | null;
export const parseCupLabel = (text: string): CupLabel | null => parseLabel(text) as CupLabel | null;
export const parseVisitId = (text: string): VisitId | null => parseLabel(text) as VisitId | null;
export const parseYardCode = (text: string): YardCode | null => parseLabel(text) as YardCode | null;

/** What a label may look like, for error sentences. */
export const LABEL_RULE = `up to ${LABEL_LENGTH_MAX} letters, digits, dots, hyphens or underscores, beginning with a letter or digit`;
