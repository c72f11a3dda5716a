import { crc8, parseRomId, type RomId } from '../../units/ids.js';
import type { ProbeReading } from '../events.js';
import { type Mark, readNineBytes } from '../host/nineBytes.js';
import { familyOf, isReadFamily } from '../host/thermometers.js';

/** A device as the kernel names it: family, then the serial number with its last byte first and without its CRC. */
const SLAVE_NAME = /^([0-9a-f]{2})-([0-9a-f]{12})$/;
/** Families of thermometers that the kernel's driver knows besides the two that are read here. */
const OTHER_THERMOMETERS = new Set(['22', '3b', '42']);

/** The ROM id behind a name such as 28-00000bbb9b13; null when it is no thermometer that is read here. */
export function romOfSlave(name: string): RomId | null {
  const match = SLAVE_NAME.exec(name);
  if (!match) return null;
  const bytes = [match[1]!, ...match[2]!.match(/../g)!.reverse()].map((pair) => Number.parseInt(pair, 16));
  if (!isReadFamily(bytes[0]!)) return null;
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'));
}

/** Whether a name is a thermometer's of a family that is not read. */
export const isOtherThermometer = (name: string): boolean =>
  OTHER_THERMOMETERS.has(SLAVE_NAME.exec(name)?.[1] ?? '');

/** The first line: nine bytes as read, the CRC the kernel reckoned, and whether it fits. */
const FIRST_LINE = /^((?:[0-9a-f]{2} ){9}): crc=([0-9a-f]{2}) (YES|NO)$/;

export interface SlaveReading extends Pick<ProbeReading, 'raw' | 'status'> {
  /** The nine bytes when they arrived whole. */
  readonly bytes: Uint8Array | null;
}

/**
 * Reads the text of a `w1_slave` file, or null where there is none. Only the nine bytes of the first line count: the
 * second line repeats the last good ones, of any age, and `t=` is reckoned from bad bytes too. The file is empty when
 * the probe did not answer, or its conversion was still under way.
 */
export function readSlaveFile(text: string | null, rom: RomId, mark: Mark | null): SlaveReading {
  if (text === null || text.trim() === '') return { raw: null, status: 'missing', bytes: null };
  const match = FIRST_LINE.exec(text.split('\n')[0]!.trimEnd());
  if (!match) return { raw: null, status: 'bad-crc', bytes: null };
  const bytes = Uint8Array.from(match[1]!.trim().split(' '), (pair) => Number.parseInt(pair, 16));
  const reading = readNineBytes(familyOf(rom), bytes, mark);
  if (reading.raw === null) return { ...reading, bytes: null };
  return match[3] === 'YES' ? { ...reading, bytes } : { raw: null, status: 'bad-crc', bytes: null };
}
