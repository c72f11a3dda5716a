import { crc8 } from '../../../src/units/ids.js';

/** The nine bytes of a DS18B20 that has converted, as its datasheet lays them out. */
export function ds18b20(sixteenths: number, { th = 0x4b, tl = 0x46, configuration = 0x7f } = {}): number[] {
  const low = sixteenths & 0xff;
  return withCrc([low, (sixteenths >> 8) & 0xff, th, tl, configuration, 0xff, 0x10 - (low & 0x0f), 0x10]);
}
/** The same after a restart, before any conversion (published clone report, CC BY: genuine power-up scratchpad). */
export const POWER_UP = [0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10, 0x1c];

export const withCrc = (bytes: readonly number[]): number[] => [...bytes, crc8(bytes)];
