import { fileURLToPath } from 'node:url';
import * as frames from '../../src/carrier/wire/frames.js';

/** Where the firmware's copy of the table of frames and codes stands. */
export const FRAMES_HEADER = fileURLToPath(new URL('../../hardware/firmware/frames.h', import.meta.url));

const macro = (prefix: string, name: string): string =>
  `${prefix}_${name.replaceAll('-', '_').replaceAll(/[A-Z]/g, (letter) => `_${letter}`)}`.toUpperCase();

const codes = (prefix: string, table: Readonly<Record<string, string>>): string[] =>
  Object.entries(table).map(([name, code]) => `#define ${macro(prefix, name)} '${code}'`);

const numbers = (table: Readonly<Record<string, number>>): string[] =>
  Object.entries(table).map(([name, value]) => `#define ${name} ${value}U`);

const kindsOf = (table: Readonly<Record<string, { readonly code: string }>>): Record<string, string> =>
  Object.fromEntries(Object.entries(table).map(([name, { code }]) => [name, code]));

/** The C header with the numbers and codes of src/carrier/wire/frames.ts. */
export function framesHeader(): string {
  return [
    '/* Written from src/carrier/wire/frames.ts (hardware/firmware/README.md says how); do not edit. */',
    '#ifndef FRAMES_H',
    '#define FRAMES_H',
    '',
    ...numbers({
      PROTOCOL_VERSION: frames.PROTOCOL_VERSION,
      LINE_BYTES_MAX: frames.LINE_BYTES_MAX,
      PROBES_MAX: frames.PROBES_MAX,
      SCAN_ENTRIES_PER_LINE: frames.SCAN_ENTRIES_PER_LINE,
      PROBE_ENTRIES_PER_LINE: frames.PROBE_ENTRIES_PER_LINE,
    }),
    '',
    ...codes('FRAME', kindsOf(frames.FRAMES)),
    '',
    ...codes('RESET_CAUSE', frames.RESET_CAUSES),
    '',
    ...codes('CLOCK', frames.CLOCK_STATES),
    '',
    ...codes('STATUS', frames.PROBE_STATUSES),
    '',
    ...numbers({
      COMMAND_BYTES_MAX: frames.COMMAND_BYTES_MAX,
      SLOTS_MAX: frames.SLOTS_MAX,
      LIMIT_NONE: frames.LIMIT_NONE,
      PERIOD_SECONDS_MIN: frames.PERIOD_SECONDS_MIN,
      PERIOD_SECONDS_MAX: frames.PERIOD_SECONDS_MAX,
    }),
    ...numbers({
      PERIOD_WITH_HOST_SECONDS: frames.PERIOD_WITH_HOST_SECONDS,
      PERIOD_ALONE_SECONDS: frames.PERIOD_ALONE_SECONDS,
      HOST_SILENCE_SECONDS: frames.HOST_SILENCE_SECONDS,
    }),
    '',
    ...codes('COMMAND', kindsOf(frames.COMMANDS)),
    '',
    ...codes('RESULT', frames.RESULTS),
    '',
    ...codes('LOG_STORE', frames.LOG_STORES),
    '',
    ...codes('WARNING', frames.WARNINGS),
    '',
    ...numbers({
      LOG_PAGES: frames.LOG_PAGES,
      LOG_PAGE_BYTES: frames.LOG_PAGE_BYTES,
      LOG_HEADER_BYTES: frames.LOG_HEADER_BYTES,
      LOG_PART_BYTES: frames.LOG_PART_BYTES,
      LOG_ROMS_OFFSET: frames.LOG_ROMS_OFFSET,
    }),
    ...numbers({
      LOG_ROMS_PER_PAGE: frames.LOG_ROMS_PER_PAGE,
      LOG_SECOND_MODULUS: frames.LOG_SECOND_MODULUS,
      LOG_STATUS: frames.LOG_STATUS,
      LOG_SETS_OFFSET: frames.LOG_SETS_OFFSET,
      MARKS_MAX: frames.MARKS_MAX,
    }),
    ...numbers({ LOG_KIND_SHIFT: frames.LOG_KIND_SHIFT, LOG_SETS_SHIFT: frames.LOG_SETS_SHIFT }),
    `#define LOG_KIND_TABLE ${frames.LOG_KINDS.table}U`,
    `#define LOG_KIND_SCANS ${frames.LOG_KINDS.scans}U`,
    '',
    '#endif',
    '',
  ].join('\n');
}
