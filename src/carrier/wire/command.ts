import type { RomId } from '../../units/ids.js';
import type { UtcMs } from '../../units/time.js';
import type { CommandName } from '../events.js';
import { crc16 } from './crc16.js';
import { toHex } from './fields.js';
import { COMMANDS, LIMIT_NONE, PERIOD_SECONDS_MAX, PERIOD_SECONDS_MIN, SLOTS_MAX } from './frames.js';

/** Something the host may say to a board; docs/wire-protocol.md, "Commands". */
export type BoardCommand =
  | { readonly name: 'identify' | 'marks' | 'search' | 'settings' }
  /** The time is written as the line is sent: the second that begins next. */
  | { readonly name: 'time' }
  | { readonly name: 'period'; readonly withHostSeconds: number; readonly aloneSeconds: number }
  /** Limits in sixteenths of a degree Celsius, null for none; without a probe the slot is emptied. */
  | {
      readonly name: 'limits';
      readonly slot: number;
      readonly rom: RomId | null;
      readonly cold: number | null;
      readonly hot: number | null;
    }
  | { readonly name: 'due'; readonly slot: number; readonly due: UtcMs | null }
  | { readonly name: 'acknowledge'; readonly page: number }
  | { readonly name: 'resend'; readonly page: number; readonly count: number };

const ROM_NONE = '0'.repeat(16);
const NEVER = '0'.repeat(8);

/**
 * The line for a command, CR LF included. `now` is the time that the command `time` tells, rounded to the nearest
 * second; the caller sends it when that second begins. Numbers out of range are a RangeError.
 */
export function encodeCommand(command: BoardCommand, sequence: number, now: UtcMs): string {
  const { code } = COMMANDS[command.name satisfies CommandName];
  const text = [code, toHex(sequence, 2), ...fieldsOf(command, now)].join(',');
  return `!${text}*${toHex(crc16(text), 4)}\r\n`;
}

function fieldsOf(command: BoardCommand, now: UtcMs): string[] {
  switch (command.name) {
    case 'time':
      return [seconds(now)];
    case 'period':
      return [period(command.withHostSeconds), period(command.aloneSeconds)];
    case 'limits':
      return [
        slot(command.slot),
        command.rom?.replaceAll('-', '') ?? ROM_NONE,
        limit(command.cold),
        limit(command.hot),
      ];
    case 'due':
      return [slot(command.slot), command.due === null ? NEVER : seconds(command.due)];
    case 'acknowledge':
      return [toHex(command.page, 6)];
    case 'resend':
      return [toHex(command.page, 6), toHex(command.count, 4)];
    default:
      return [];
  }
}

const seconds = (at: UtcMs): string => toHex(Math.round(at / 1000), 8);
const slot = (number: number): string => toHex(within(number, 1, SLOTS_MAX), 2);
const period = (number: number): string => toHex(within(number, PERIOD_SECONDS_MIN, PERIOD_SECONDS_MAX), 2);
const limit = (sixteenths: number | null): string =>
  toHex(sixteenths === null ? LIMIT_NONE : within(sixteenths, -0x7fff, 0x7fff) & 0xffff, 4);

function within(value: number, min: number, max: number): number {
  if (value < min || value > max) throw new RangeError(`${value} is not within ${min} to ${max}`);
  return value;
}
