import type { BoardId, RomId } from '../units/ids.js';
import type { CelsiusDifference } from '../units/temperature.js';
import type { BoardMs, MonotonicMs, UtcMs } from '../units/time.js';

/**
 * What any source of readings (our board over a port, the emulated board, later others) says to the
 * logger, in the order it was said. Damaged input is an event too: nothing off the wire vanishes silently.
 */
export type CarrierEvent =
  | BootEvent
  | ProbesEvent
  | ScanEvent
  | HeartbeatEvent
  | AnswerEvent
  | LogPageEvent
  | LogStateEvent
  | ClockEvent
  | MarkEvent
  | SettingsEvent
  | SlotSettingEvent
  | AlarmsEvent
  | WarningEvent
  | DiscardedEvent
  | LinkEvent;

/** When the host received the line behind an event. */
export interface Arrival {
  readonly utc: UtcMs;
  /** By the clock that goes on while the host sleeps. */
  readonly monotonic: MonotonicMs;
}

/** What every line carries that is believed: which board, which boot of it, and its time. */
export interface Told {
  readonly arrival: Arrival;
  readonly boardMs: BoardMs;
  readonly board: BoardId;
  readonly bootCount: number;
}

export interface BootEvent extends Told {
  readonly kind: 'boot';
  /** Number of this boot since the board was made; each is a clock epoch of its own. */
  readonly bootCount: number;
  readonly resetCause: ResetCause;
  readonly firmwareVersion: string;
  readonly protocolVersion: number;
  readonly clock: ClockState;
}

export type ResetCause = 'power-on' | 'brown-out' | 'external' | 'watchdog' | 'unknown';
export type ClockState = 'absent' | 'running' | 'stopped';

/** The table that gives slot indices their probes until its number changes. */
export interface ProbesEvent extends Told {
  readonly kind: 'probes';
  readonly table: number;
  readonly probes: readonly {
    readonly index: number;
    readonly rom: RomId;
    /** Standard uncertainty as the source knows it, when it is another than a DS18B20's. */
    readonly uncertainty?: CelsiusDifference;
  }[];
}

/**
 * Why a probe's value is not an observation, as the board saw it; `ok` otherwise.
 * `restarted` is sent from a later firmware on; the store keeps it from the start.
 */
export type BoardStatus =
  | 'ok'
  | 'bad-crc'
  | 'all-zero'
  | 'missing'
  | 'not-converted'
  | 'bad-configuration'
  | 'restarted'
  | 'first-conversion';

/** What a board says, or what is found out on this computer (`host/unchanging.ts`). */
export type ProbeStatus = BoardStatus | 'unchanging';

export interface ProbeReading {
  readonly rom: RomId;
  readonly index: number;
  /** Sixteenths of a degree Celsius as sent, null when the board had no value at all. */
  readonly raw: number | null;
  readonly status: ProbeStatus;
}

/** One line of one scan. A scan of many probes comes in several lines of equal scan number and board time. */
export interface ScanEvent extends Told {
  readonly kind: 'scan';
  /** When the probes began to convert. */
  readonly boardMs: BoardMs;
  readonly scan: number;
  readonly table: number;
  readonly readings: readonly ProbeReading[];
}

export interface HeartbeatEvent extends Told {
  readonly kind: 'heartbeat';
}

export type CommandName =
  | 'identify'
  | 'time'
  | 'period'
  | 'limits'
  | 'due'
  | 'acknowledge'
  | 'resend'
  | 'marks'
  | 'search'
  | 'settings';
export type CommandResult =
  | 'done'
  | 'bad-crc'
  | 'too-long'
  | 'unknown-command'
  | 'bad-field'
  | 'out-of-range'
  | 'unavailable';

/** The board's answer to a command; it counts before the board has said who it is, because it comes first. */
export interface AnswerEvent {
  readonly kind: 'answer';
  readonly arrival: Arrival;
  /** Null when the command came so damaged that the board could not tell which it was. */
  readonly command: CommandName | null;
  readonly commandSequence: number;
  readonly result: CommandResult;
  readonly values: readonly string[];
}

/** A whole page of the board's log whose check sum is right, as it stands in the memory. */
export interface LogPageEvent extends Told {
  readonly kind: 'log-page';
  readonly page: number;
  readonly bytes: Uint8Array;
}

export type LogPlace = 'memory' | 'ram' | 'mounting';

/** What the log holds: pages `oldest` to `open`, the newest, which may still grow (0: none, or not mounted yet). */
export interface LogStateEvent extends Told {
  readonly kind: 'log-state';
  readonly store: LogPlace;
  readonly oldest: number;
  readonly open: number;
  readonly acknowledged: number;
  /** Pages that can be written before one is lost that no host acknowledged. */
  readonly room: number;
}

/** The board's clock at `boardMs`, true to half a second; null when it knows no time. */
export interface ClockEvent extends Told {
  readonly kind: 'clock';
  readonly clock: ClockState;
  readonly utc: UtcMs | null;
  /** How often the clock was set, modulo 256; null from a board that does not tell (before protocol version 3). */
  readonly sets: number | null;
}

/** A press of the button, perhaps in an earlier boot. */
export interface MarkEvent extends Told {
  readonly kind: 'mark';
  /** Counts presses and wraps; boot and time tell presses apart. */
  readonly mark: number;
  readonly markBoot: number;
  readonly markMs: BoardMs;
  readonly utc: UtcMs | null;
  /** As of the clock, when it was pressed. */
  readonly sets: number | null;
}

export interface SettingsEvent extends Told {
  readonly kind: 'settings';
  readonly periodWithHostSeconds: number;
  readonly periodAloneSeconds: number;
  readonly slots: number;
}

/** What the board has been told of one slot; limits in sixteenths of a degree Celsius. */
export interface SlotSettingEvent extends Told {
  readonly kind: 'slot-setting';
  readonly slot: number;
  readonly rom: RomId;
  readonly cold: number | null;
  readonly hot: number | null;
  readonly due: UtcMs | null;
}

export interface AlarmsEvent extends Told {
  readonly kind: 'alarms';
  /** Slots past a limit, and slots whose cup is due. */
  readonly act: readonly number[];
  readonly due: readonly number[];
  readonly isMuted: boolean;
}

export type BoardWarning =
  | 'log-nearly-full'
  | 'log-overwritten'
  | 'memory-lost'
  | 'memory-back'
  | 'clock-lost'
  | 'probe-lost';

export interface WarningEvent extends Told {
  readonly kind: 'warning';
  readonly warning: BoardWarning;
  readonly detail: number;
}

/** Bytes that were not understood, or understood and not usable, with the reason. */
export interface DiscardedEvent {
  readonly kind: 'discarded';
  readonly arrival: Arrival;
  readonly reason: DiscardReason;
  readonly bytes: number;
}

export type DiscardReason =
  | 'too-long'
  | 'unfinished'
  | 'no-frame'
  | 'bad-crc'
  | 'unknown-kind'
  | 'bad-field'
  | 'before-boot'
  | 'unknown-table'
  | 'repeated'
  | 'bad-rom'
  | 'damaged-page';

/** The detail of a change that was told before, and need not be again. */
export const UNSAID = '';

/**
 * The state of the connection itself; `detail` is a sentence for people. A note changes nothing: it is something they
 * should know.
 */
export interface LinkEvent {
  readonly kind: 'link';
  readonly arrival: Arrival;
  readonly state: 'open' | 'closed' | 'lost-lines' | 'note';
  readonly detail: string;
}
