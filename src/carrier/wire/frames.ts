/**
 * The one table of frames and codes of the board's lines. `hardware/firmware/frames.h` is written from it
 * by `npm run frames` (a test compares), and docs/wire-protocol.md is tested against it.
 *
 * A line is `$K,bbbb,qqqq,tttttttt,FIELDS*cccc` CR LF: kind, boot count, line sequence, board time in
 * milliseconds, all hexadecimal and upper case, then CRC-16/CCITT-FALSE over what stands between `$` and `*`.
 */
export const PROTOCOL_VERSION = 3;
/** The first version that hears commands, and whose boards may have a memory. */
export const HEARS_FROM = 2;
/** The first version that tells how often the clock was set. */
export const TELLS_SETS_FROM = 3;
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
  /** The one answer to a command: its letter and sequence, what became of it, and values that some commands give. */
  answer: { code: 'A', fields: 'command(code),commandSequence(2),result(code),value...' },
  /** A quarter of a page of the log, LOG_PART_BYTES of it from part * LOG_PART_BYTES on. */
  logPage: { code: 'L', fields: 'page(6),part(1),bytes(64)' },
  /** What the log holds; page numbers. `room` counts pages until one is overwritten that no host acknowledged. */
  logState: {
    code: 'J',
    fields: 'store(code),oldest(6),open(6),acknowledged(6),room(4)',
  },
  /**
   * Board time of the line's head and UTC (Unix seconds) at that instant, 00000000 when the board knows none; how often
   * the clock was set, by hosts or to put a disturbed chip right, modulo 256.
   */
  clock: { code: 'C', fields: 'clock(code),utc(8),sets(2)' },
  /** A press of the button, by its own boot and board time. */
  mark: { code: 'M', fields: 'mark(2),markBoot(4),markTime(8),utc(8),sets(2)' },
  /** The two scan periods in seconds, and how many of SLOTS_MAX slots are set. */
  settings: { code: 'T', fields: 'periodWithHost(2),periodAlone(2),slots(2)' },
  /** What is set for one slot. */
  slot: { code: 'E', fields: 'slot(2),rom(16),cold(4),hot(4),due(8)' },
  /** Which slots (bit 0 is slot 1) are past a limit and which are due; sounding or muted. */
  alarms: { code: 'Y', fields: 'act(4),due(4),muted(1)' },
  /** Something a person should know once. */
  warning: { code: 'W', fields: 'warning(code),detail(4)' },
} as const;

/**
 * What the host may say: `!K,qq,FIELDS*cccc` CR LF, the CRC over what stands between `!` and `*`. Each line is
 * answered by one answer frame with the same letter and sequence.
 */
export const COMMAND_BYTES_MAX = 48;
export const COMMANDS = {
  /** Boot, clock, table, log state and alarms are sent. Any command shows the board that a host listens. */
  identify: { code: 'I', fields: '' },
  /** Sets the clock to UTC, Unix seconds that begin as the line's last byte arrives. */
  time: { code: 'C', fields: 'utc(8)' },
  period: { code: 'P', fields: 'periodWithHost(2),periodAlone(2)' },
  /** Limits of the probe in a slot, sixteenths; LIMIT_NONE for none. A ROM of zeros empties the slot. */
  limits: { code: 'L', fields: 'slot(2),rom(16),cold(4),hot(4)' },
  /** When the cup in a slot is due, Unix seconds; 00000000 for never. */
  due: { code: 'D', fields: 'slot(2),due(8)' },
  /** All pages up to this one are durable at the host. */
  acknowledge: { code: 'K', fields: 'page(6)' },
  /** Sends `count` pages again, from `page` on; count 0000 stops. A new one replaces the one under way. */
  resend: { code: 'R', fields: 'page(6),count(4)' },
  /** Sends every mark that is kept. */
  marks: { code: 'M', fields: '' },
  /** Looks for new probes now. */
  search: { code: 'S', fields: '' },
  /** Sends the settings frame and a slot frame for each slot that is set. */
  settings: { code: 'T', fields: '' },
} as const;

export const RESULTS = {
  done: 'K',
  'bad-crc': 'C',
  'too-long': 'L',
  'unknown-command': 'U',
  'bad-field': 'F',
  'out-of-range': 'R',
  unavailable: 'N',
} as const;

/** Where the log is kept. */
export const LOG_STORES = { memory: 'M', ram: 'R', mounting: 'W' } as const;

export const WARNINGS = {
  /** Detail: pages that can still be written before one is lost that no host acknowledged. */
  'log-nearly-full': 'F',
  /** Detail: how many pages are overwritten that no host acknowledged, at most FFFF. */
  'log-overwritten': 'O',
  /** The serial memory does not answer; the log goes on in RAM. Detail: 0000. */
  'memory-lost': 'M',
  /** The serial memory answers again. Detail: 0000. */
  'memory-back': 'B',
  /** The clock chip does not answer. Detail: 0000. */
  'clock-lost': 'C',
  /** A probe stopped answering, said once. Detail: its index. */
  'probe-lost': 'P',
} as const;

export const SLOTS_MAX = 16;
export const LIMIT_NONE = 0x8000;
export const PERIOD_SECONDS_MIN = 10;
export const PERIOD_SECONDS_MAX = 25;
export const PERIOD_WITH_HOST_SECONDS = 10;
export const PERIOD_ALONE_SECONDS = 20;
/** A host is taken to listen for this long after each good command. */
export const HOST_SILENCE_SECONDS = 60;

/** The log: a ring of pages (docs/wire-protocol.md, "A page of the log"). */
export const LOG_PAGES = 512;
export const LOG_PAGE_BYTES = 128;
export const LOG_HEADER_BYTES = 20;
export const LOG_PART_BYTES = 32;
/** The table page's ROM ids begin here, at most LOG_ROMS_PER_PAGE of them. */
export const LOG_ROMS_OFFSET = 31;
export const LOG_ROMS_PER_PAGE = 12;
/**
 * On a scans page: the board's clock at its first scan, Unix seconds modulo this, plus one, in the four high bits of the byte
 * whose low bits hold the period less PERIOD_SECONDS_MIN; 0 when no clock runs.
 */
export const LOG_SECOND_MODULUS = 15;
/** In one bit of a page's byte 7, from LOG_KIND_SHIFT on. */
export const LOG_KINDS = { table: 0, scans: 1 } as const;
export const LOG_KIND_SHIFT = 5;
/** How often the clock was set: its two low bits in byte 7 of each page, from here on; all of it on a table page. */
export const LOG_SETS_SHIFT = 6;
export const LOG_SETS_OFFSET = 127;
/** A 12-bit value of this and a status letter: a reading that is not `ok`. No thermometer counts so low. */
export const LOG_STATUS = 0x800;
export const MARKS_MAX = 48;

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
