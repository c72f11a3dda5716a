import { crc8 } from '../../units/ids.js';
import type { ProbeReading, ProbeStatus } from '../events.js';

/** Family codes of the thermometers that are read: the first byte of a ROM id. */
export const DS18B20 = 0x28;
export const DS18S20 = 0x10;

/** What a host wrote into a probe's bytes TH and TL; a probe that restarted has lost it. */
export interface Mark {
  readonly th: number;
  readonly tl: number;
}

const SCRATCHPAD_BYTES = 9;
const [TH, TL, CONFIGURATION, COUNT_REMAIN, COUNT_PER_C] = [2, 3, 4, 6, 7];
/** 12 bit: the only setting whose low bits all mean something. */
export const TWELVE_BIT = 0x7f;
/** A count of the DS18S20 is worth 1/16 degC when its byte 7 is this, as it always is. */
const SIXTEEN = 0x10;
/** Byte 6 as it is at power-up; after a conversion it holds what the conversion left. */
const UNTOUCHED = 0x0c;
/** What a probe holds that did not convert: 85.0 (power-up value) and 127.9375 (supply too weak). */
const UNCONVERTED = [85 * 16, 0x07ff];

/**
 * Reads the nine bytes of a thermometer's scratchpad. The temperature is in sixteenths of a degree Celsius for both
 * families (datasheets of the DS18B20, 19-7487 Rev 4, and of the DS18S20).
 *
 * @param family the first byte of its ROM id; another than the two families is an error of the caller
 * @param mark what its TH and TL should hold, null when nothing was written there
 */
export function readNineBytes(
  family: number,
  bytes: Uint8Array,
  mark: Mark | null,
): Pick<ProbeReading, 'raw' | 'status'> {
  if (bytes.length !== SCRATCHPAD_BYTES) return { raw: null, status: 'bad-crc' };
  if (bytes.every((byte) => byte === 0xff)) return { raw: null, status: 'missing' };
  // Nine zeros, of a bus that is held low, have the right CRC.
  if (bytes.every((byte) => byte === 0)) return { raw: null, status: 'all-zero' };
  if (crc8(bytes) !== 0) return { raw: null, status: 'bad-crc' };
  const raw = sixteenths(family, bytes);
  return { raw, status: statusOf(family, bytes, raw, mark) };
}

function sixteenths(family: number, bytes: Uint8Array): number {
  const word = ((bytes[0]! | (bytes[1]! << 8)) << 16) >> 16;
  if (family === DS18B20) return word;
  if (family !== DS18S20) throw new RangeError(`no thermometer of family ${family.toString(16)} is known`);
  // Half degrees without the half, less a quarter, plus what the counter had left.
  return (word >> 1) * 16 - 4 + (SIXTEEN - bytes[COUNT_REMAIN]!);
}

function statusOf(family: number, bytes: Uint8Array, raw: number, mark: Mark | null): ProbeStatus {
  if (bytes[COUNT_REMAIN] === UNTOUCHED && UNCONVERTED.includes(raw)) return 'not-converted';
  if (mark !== null && (bytes[TH] !== mark.th || bytes[TL] !== mark.tl)) return 'restarted';
  const isSet = family === DS18B20 ? bytes[CONFIGURATION] === TWELVE_BIT : bytes[COUNT_PER_C] === SIXTEEN;
  return isSet ? 'ok' : 'bad-configuration';
}
