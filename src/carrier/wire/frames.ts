/**
 * The one table of frames and codes of the board's lines. `hardware/firmware/frames.h` is written from it
 * by `npm run frames` (a test compares), and docs/wire-protocol.md is tested against it.
 *
 * A line is `$K,bbbb,qqqq,tttttttt,FIELDS*cccc` CR LF: kind, boot count, line sequence, board time in
 * milliseconds, all hexadecimal and upper case, then CRC-16/CCITT-FALSE over what stands between `$` and `*`.
 */
export const PROTOCOL_VERSION = 1;
/** The longest line with its CR LF, bytes. */
export const LINE_BYTES_MAX = 128;
export const PROBES_MAX = 16;
export const SCAN_ENTRIES_PER_LINE = 8;
export const PROBE_ENTRIES_PER_LINE = 4;

export const FRAMES = {
  /** At each boot, and again every minute so that a host that joins late knows the board. */
  boot: { code: 'B', fields: 'protocol(2),firmware(text),board(8),resetCause(code),clock(code)' },
  /** ROM ids of the table, after each change and again every minute: index(1) "." rom(16, in bus order). */
  probes: { code: 'P', fields: 'table(2),count(2),entry...' },
  /** One scan, or a part of it: index(1) status(code) raw(4, two's complement sixteenths, "----" when none). */
  scan: { code: 'S', fields: 'table(2),scan(8),entry...' },
  /** At least every second. */
  heartbeat: { code: 'H', fields: '' },
} as const;

export const RESET_CAUSES = {
  'power-on': 'P',
  'brown-out': 'N',
  external: 'E',
  watchdog: 'W',
  unknown: 'U',
} as const;

export const CLOCK_STATES = { absent: 'A', running: 'R', stopped: 'S' } as const;

export const PROBE_STATUSES = {
  ok: '+',
  'bad-crc': 'C',
  'all-zero': 'Z',
  missing: 'M',
  'not-converted': 'N',
  'bad-configuration': 'K',
  restarted: 'R',
  'first-conversion': 'F',
} as const;
