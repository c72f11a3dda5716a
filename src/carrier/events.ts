import type { BoardId, RomId } from '../units/ids.js';
import type { BoardMs, MonotonicMs, UtcMs } from '../units/time.js';

/**
 * What any source of readings (our board over a port, the emulated board, later others) says to the
 * logger, in the order it was said. Damaged input is an event too: nothing off the wire vanishes silently.
 */
export type CarrierEvent = BootEvent | ProbesEvent | ScanEvent | HeartbeatEvent | DiscardedEvent | LinkEvent;

/** When the host received the line behind an event. */
export interface Arrival {
  readonly utc: UtcMs;
  readonly monotonic: MonotonicMs;
}

export interface BootEvent {
  readonly kind: 'boot';
  readonly arrival: Arrival;
  readonly boardMs: BoardMs;
  readonly board: BoardId;
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
export interface ProbesEvent {
  readonly kind: 'probes';
  readonly arrival: Arrival;
  readonly boardMs: BoardMs;
  readonly board: BoardId;
  readonly bootCount: number;
  readonly table: number;
  readonly probes: readonly { readonly index: number; readonly rom: RomId }[];
}

/**
 * Why a probe's value is not an observation, as the board saw it; `ok` otherwise.
 * `restarted` is sent from a later firmware on; the store keeps it from the start.
 */
export type ProbeStatus =
  | 'ok'
  | 'bad-crc'
  | 'all-zero'
  | 'missing'
  | 'not-converted'
  | 'bad-configuration'
  | 'restarted'
  | 'first-conversion';

export interface ProbeReading {
  readonly rom: RomId;
  readonly index: number;
  /** Sixteenths of a degree Celsius as sent, null when the board had no value at all. */
  readonly raw: number | null;
  readonly status: ProbeStatus;
}

/** One line of one scan. A scan of many probes comes in several lines of equal scan number and board time. */
export interface ScanEvent {
  readonly kind: 'scan';
  readonly arrival: Arrival;
  /** When the probes began to convert. */
  readonly boardMs: BoardMs;
  readonly board: BoardId;
  readonly bootCount: number;
  readonly scan: number;
  readonly table: number;
  readonly readings: readonly ProbeReading[];
}

export interface HeartbeatEvent {
  readonly kind: 'heartbeat';
  readonly arrival: Arrival;
  readonly boardMs: BoardMs;
  readonly board: BoardId;
  readonly bootCount: number;
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
  | 'bad-rom';

/** The state of the connection itself; `detail` is a sentence for people. */
export interface LinkEvent {
  readonly kind: 'link';
  readonly arrival: Arrival;
  readonly state: 'open' | 'closed' | 'lost-lines';
  readonly detail: string;
}
