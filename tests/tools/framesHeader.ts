import { fileURLToPath } from 'node:url';
import * as frames from '../../src/carrier/wire/frames.js';

/** Where the firmware's copy of the table of frames and codes stands. */
export const FRAMES_HEADER = fileURLToPath(new URL('../../hardware/firmware/frames.h', import.meta.url));

const macro = (prefix: string, name: string): string =>
  `${prefix}_${name.replaceAll('-', '_').replaceAll(/[A-Z]/g, (letter) => `_${letter}`)}`.toUpperCase();

const codes = (prefix: string, table: Readonly<Record<string, string>>): string[] =>
  Object.entries(table).map(([name, code]) => `#define ${macro(prefix, name)} '${code}'`);

/** The C header with the numbers and codes of src/carrier/wire/frames.ts. */
export function framesHeader(): string {
  const kinds = Object.fromEntries(Object.entries(frames.FRAMES).map(([name, { code }]) => [name, code]));
  return [
    '/* Written from src/carrier/wire/frames.ts (hardware/firmware/README.md says how); do not edit. */',
    '#ifndef FRAMES_H',
    '#define FRAMES_H',
    '',
    `#define PROTOCOL_VERSION ${frames.PROTOCOL_VERSION}U`,
    `#define LINE_BYTES_MAX ${frames.LINE_BYTES_MAX}U`,
    `#define PROBES_MAX ${frames.PROBES_MAX}U`,
    `#define SCAN_ENTRIES_PER_LINE ${frames.SCAN_ENTRIES_PER_LINE}U`,
    `#define PROBE_ENTRIES_PER_LINE ${frames.PROBE_ENTRIES_PER_LINE}U`,
    '',
    ...codes('FRAME', kinds),
    '',
    ...codes('RESET_CAUSE', frames.RESET_CAUSES),
    '',
    ...codes('CLOCK', frames.CLOCK_STATES),
    '',
    ...codes('STATUS', frames.PROBE_STATUSES),
    '',
    '#endif',
    '',
  ].join('\n');
}
