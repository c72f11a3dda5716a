import { readFileSync } from 'node:fs';
import { readFirmwarePins } from '../../../hardware/wiring/firmwarePins.js';
import { type Netlist, readNetlist } from '../../../hardware/wiring/netlist.js';

const CHIP_HEADER = 'hardware/firmware/chip_atmega328p.h';

export const NETLIST = 'hardware/wiring/carrier.netlist';
export const NETLIST_TEXT = readFileSync(NETLIST, 'utf8');
export const CARRIER: Netlist = readNetlist(NETLIST_TEXT, NETLIST);
export const PINS = readFirmwarePins(readFileSync(CHIP_HEADER, 'utf8'), CHIP_HEADER);

/** One thing changed in the netlist's text: what stands there, and what shall. */
export type Change = readonly [from: string, to: string];

/** The carrier's netlist with changes; one that finds nothing to change is a mistake of the test. */
export function changed(...changes: readonly Change[]): Netlist {
  const text = changes.reduce((before, [from, to]) => {
    if (!before.includes(from)) throw new Error(`nothing to change: ${from}`);
    return before.replace(from, () => to);
  }, NETLIST_TEXT);
  return readNetlist(text, NETLIST);
}

/** `FILE, line N: ` of the line that begins with `words`, as sentences begin; `down` lines were put in above it. */
export const at = (words: string, down = 0): string =>
  `${NETLIST}, line ${NETLIST_TEXT.split('\n').findIndex((line) => line.startsWith(words)) + 1 + down}: `;
