import { type BoardId, parseBoardId, type RomId } from '../../units/ids.js';
import { type BoardMs, boardMs } from '../../units/time.js';
import type { BoardStatus, ClockState, DiscardReason, ResetCause } from '../events.js';
import { crc16 } from './crc16.js';
import { hex, inverse, romOf } from './fields.js';
import { CLOCK_STATES, FRAMES, PROBE_STATUSES, PROBES_MAX, RESET_CAUSES } from './frames.js';
import { type AnswerFields, type LogPartFields, type TellingFields, tellingFields } from './tellings.js';

/** What every line of the board carries: which boot, which line of it, and the board's time. */
interface Head {
  readonly bootCount: number;
  /** Counts lines modulo 65536, so that a lost one is noticed. */
  readonly sequence: number;
  readonly boardMs: BoardMs;
}

/** One line as the board meant it, or why it cannot be used. Damage is a frame like any other. */
export type Frame =
  | BootFrame
  | ProbesFrame
  | ScanFrame
  | HeartbeatFrame
  | (Head & LogPartFields)
  | (Head & TellingFields)
  | (Head & AnswerFields)
  | Discarded;

export interface BootFrame extends Head {
  readonly kind: 'boot';
  readonly protocolVersion: number;
  readonly firmwareVersion: string;
  readonly board: BoardId;
  readonly resetCause: ResetCause;
  readonly clock: ClockState;
}
export interface ProbesFrame extends Head {
  readonly kind: 'probes';
  readonly table: number;
  /** How many probes the whole table has; a table may come in several lines. */
  readonly count: number;
  readonly entries: readonly { readonly index: number; readonly rom: RomId }[];
}
export interface ScanFrame extends Head {
  readonly kind: 'scan';
  readonly table: number;
  readonly scan: number;
  readonly entries: readonly {
    readonly index: number;
    readonly status: BoardStatus;
    readonly raw: number | null;
  }[];
}
export interface HeartbeatFrame extends Head {
  readonly kind: 'heartbeat';
}
export interface Discarded {
  readonly kind: 'discarded';
  readonly reason: DiscardReason;
}

const FRAME = /^\$([A-Z]),([0-9A-F]{4}),([0-9A-F]{4}),([0-9A-F]{8})(?:,([\x20-\x7e]*))?$/;
const TRAILER = /^(.*)\*([0-9A-F]{4})\r?$/;
const SCAN_ENTRY = /^([0-9A-F])(.)([0-9A-F]{4}|----)$/;
const PROBE_ENTRY = /^([0-9A-F])\.([0-9A-F]{16})$/;
const FIRMWARE = /^[0-9A-Za-z.+-]{1,16}$/;

const causes = inverse<ResetCause>(RESET_CAUSES);
const clocks = inverse<ClockState>(CLOCK_STATES);
const statuses = inverse<BoardStatus>(PROBE_STATUSES);

const discarded = (reason: DiscardReason): Discarded => ({ kind: 'discarded', reason });

/** Reads one line without its LF. Never throws; an unusable line is a `discarded` frame with its reason. */
export function decodeLine(line: string): Frame {
  const start = line.indexOf('$');
  if (start < 0) return discarded('no-frame');
  const trailer = TRAILER.exec(line.slice(start));
  if (!trailer) return discarded('no-frame');
  const [, text, crc] = trailer as unknown as [string, string, string];
  if (crc16(text.slice(1)) !== Number.parseInt(crc, 16)) return discarded('bad-crc');
  const parts = FRAME.exec(text);
  if (!parts) return discarded('bad-field');
  const [, code, boot, sequence, time, rest] = parts as unknown as [
    string,
    string,
    string,
    string,
    string,
    string?,
  ];
  const head: Head = {
    bootCount: Number.parseInt(boot, 16),
    sequence: Number.parseInt(sequence, 16),
    boardMs: boardMs(Number.parseInt(time, 16)),
  };
  const fields = rest === undefined ? [] : rest.split(',');
  switch (code) {
    case FRAMES.boot.code:
      return bootFrame(head, fields);
    case FRAMES.probes.code:
      return probesFrame(head, fields);
    case FRAMES.scan.code:
      return scanFrame(head, fields);
    case FRAMES.heartbeat.code:
      return { kind: 'heartbeat', ...head };
    default: {
      const told = tellingFields(code, fields);
      return typeof told === 'string' ? discarded(told) : { ...head, ...told };
    }
  }
}

function bootFrame(head: Head, fields: readonly string[]): Frame {
  const [protocol, firmware, board, cause, clock] = fields;
  const protocolVersion = hex(protocol, 2);
  const boardId = board === undefined ? null : parseBoardId(board);
  const resetCause = causes.get(cause ?? '');
  const clockState = clocks.get(clock ?? '');
  if (
    protocolVersion === null ||
    boardId === null ||
    !resetCause ||
    !clockState ||
    !FIRMWARE.test(firmware ?? '')
  )
    return discarded('bad-field');
  return {
    kind: 'boot',
    ...head,
    protocolVersion,
    firmwareVersion: firmware!,
    board: boardId,
    resetCause,
    clock: clockState,
  };
}

function probesFrame(head: Head, [table, count, ...rest]: readonly string[]): Frame {
  const tableNumber = hex(table, 2);
  const total = hex(count, 2);
  if (tableNumber === null || total === null || total > PROBES_MAX) return discarded('bad-field');
  const entries: { index: number; rom: RomId }[] = [];
  for (const field of rest) {
    const entry = PROBE_ENTRY.exec(field);
    if (!entry) return discarded('bad-field');
    const rom = romOf(entry[2]!);
    if (!rom) return discarded('bad-rom');
    entries.push({ index: Number.parseInt(entry[1]!, 16), rom });
  }
  return { kind: 'probes', ...head, table: tableNumber, count: total, entries };
}

function scanFrame(head: Head, [table, scan, ...rest]: readonly string[]): Frame {
  const tableNumber = hex(table, 2);
  const scanNumber = hex(scan, 8);
  if (tableNumber === null || scanNumber === null) return discarded('bad-field');
  const entries: ScanFrame['entries'][number][] = [];
  for (const field of rest) {
    const entry = SCAN_ENTRY.exec(field);
    const status = statuses.get(entry?.[2] ?? '');
    if (!entry || !status) return discarded('bad-field');
    const raw = entry[3] === '----' ? null : (Number.parseInt(entry[3]!, 16) << 16) >> 16;
    if (status === 'ok' && raw === null) return discarded('bad-field');
    entries.push({ index: Number.parseInt(entry[1]!, 16), status, raw });
  }
  return { kind: 'scan', ...head, table: tableNumber, scan: scanNumber, entries };
}
