import { crc8 } from '../units/ids.js';

export const DS18S20 = 0x10;
export const SCRATCHPAD_BYTES = 9;

const CONFIGURATION_12_BIT = 0x7f;
const MIN_SIXTEENTHS = -55 * 16;
const MAX_SIXTEENTHS = 125 * 16;

/** TH, TL and the configuration register: what Copy Scratchpad saves. */
export interface UserBytes {
  readonly th: number;
  readonly tl: number;
  readonly configuration: number;
}
/** As the parts are delivered. */
export const DELIVERED: UserBytes = { th: 0x4b, tl: 0x46, configuration: CONFIGURATION_12_BIT };

/** The temperature bytes and the two count bytes (6 and 7) of a scratchpad. */
export type Conversion = readonly [lsb: number, msb: number, countRemain: number, countPerC: number];

/** What a thermometer holds from power-up to its first conversion: 85 degrees Celsius. */
export const atPowerUp = (family: number): Conversion =>
  family === DS18S20 ? [0xaa, 0x00, 0x0c, 0x10] : [0x50, 0x05, 0x0c, 0x10];

const resolutionBits = (configuration: number): number => 9 + ((configuration >> 5) & 3);

/** Family 28h: sixteenths, fewer at a coarser resolution; byte 6 is 10h less the low nibble. */
function convertInSixteenths(sixteenths: number, configuration: number): Conversion {
  const raw = sixteenths & ~(2 ** (12 - resolutionBits(configuration)) - 1);
  return [raw & 0xff, (raw >> 8) & 0xff, 0x10 - (raw & 0x0f), 0x10];
}

/** Family 10h: half degrees, and COUNT_REMAIN so that T = truncated - 0.25 + (10h - COUNT_REMAIN) / 10h. */
function convertInHalves(sixteenths: number): Conversion {
  const truncated = 16 * Math.floor((sixteenths + 4) / 16);
  const halves = truncated / 8 + (sixteenths - truncated >= 4 ? 1 : 0);
  return [halves & 0xff, (halves >> 8) & 0xff, truncated + 12 - sixteenths, 0x10];
}

/** What a thermometer of `family` makes of a temperature. */
export function convert(degreesCelsius: number, family: number, configuration: number): Conversion {
  const sixteenths = Math.min(MAX_SIXTEENTHS, Math.max(MIN_SIXTEENTHS, Math.round(degreesCelsius * 16)));
  return family === DS18S20 ? convertInHalves(sixteenths) : convertInSixteenths(sixteenths, configuration);
}

/** The nine bytes, CRC last. */
export function scratchpadBytes(
  family: number,
  [lsb, msb, remain, perC]: Conversion,
  user: UserBytes,
): Uint8Array {
  const configuration = family === DS18S20 ? 0xff : user.configuration;
  const data = [lsb, msb, user.th, user.tl, configuration, 0xff, remain, perC];
  return Uint8Array.of(...data, crc8(data));
}
