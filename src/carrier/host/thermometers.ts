import type { RomId } from '../../units/ids.js';
import { DS18B20, DS18S20 } from './nineBytes.js';

/** The first byte of a ROM id. */
export const familyOf = (rom: RomId): number => Number.parseInt(rom.slice(0, 2), 16);

/** Whether a family's nine bytes can be read here. */
export const isReadFamily = (family: number): boolean => family === DS18B20 || family === DS18S20;
