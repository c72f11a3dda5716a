import { boardMs } from '../../units/time.js';
import type {
  AlarmsEvent,
  AnswerEvent,
  BoardWarning,
  ClockEvent,
  ClockState,
  CommandName,
  CommandResult,
  DiscardReason,
  LogPlace,
  LogStateEvent,
  MarkEvent,
  SettingsEvent,
  SlotSettingEvent,
  Told,
  WarningEvent,
} from '../events.js';
import { hex, inverse, romOf, signed16, unixSeconds } from './fields.js';
import {
  CLOCK_STATES,
  COMMANDS,
  FRAMES,
  LIMIT_NONE,
  LOG_PAGE_BYTES,
  LOG_PART_BYTES,
  LOG_STORES,
  RESULTS,
  SLOTS_MAX,
  WARNINGS,
} from './frames.js';

/** The fields of the frames by which a board speaks of its log, clock, button and settings. */
export interface LogPartFields {
  readonly kind: 'log-part';
  readonly page: number;
  readonly part: number;
  readonly bytes: Uint8Array;
}
/** What a line says of an event; head and arrival add the rest. */
type FieldsOf<Event extends Told> = Event extends Told ? Omit<Event, keyof Told> : never;
export type AnswerFields = Omit<AnswerEvent, 'arrival'>;
export type TellingFields = FieldsOf<
  LogStateEvent | ClockEvent | MarkEvent | SettingsEvent | SlotSettingEvent | AlarmsEvent | WarningEvent
>;

const commands = inverse<CommandName>(codesOf(COMMANDS));
const results = inverse<CommandResult>(RESULTS);
const stores = inverse<LogPlace>(LOG_STORES);
const clocks = inverse<ClockState>(CLOCK_STATES);
const warnings = inverse<BoardWarning>(WARNINGS);
/** What the answer carries instead of a letter when the command could not be read. */
const UNREADABLE = '?';

const READERS: Readonly<
  Record<string, (fields: readonly string[]) => LogPartFields | AnswerFields | TellingFields | DiscardReason>
> = {
  [FRAMES.answer.code]: answer,
  [FRAMES.logPage.code]: logPart,
  [FRAMES.logState.code]: logState,
  [FRAMES.clock.code]: clock,
  [FRAMES.mark.code]: mark,
  [FRAMES.settings.code]: settings,
  [FRAMES.slot.code]: slotSetting,
  [FRAMES.alarms.code]: alarms,
  [FRAMES.warning.code]: warning,
};

/**
 * Reads the fields behind the head of a line of the kind `code`, or says why they cannot be used. Fields that a
 * later protocol adds behind the last one are let through unread.
 */
export function tellingFields(
  code: string,
  fields: readonly string[],
): LogPartFields | AnswerFields | TellingFields | DiscardReason {
  return READERS[code]?.(fields) ?? 'unknown-kind';
}

function answer([letter, sequence, code, ...values]: readonly string[]): AnswerFields | DiscardReason {
  const command = commands.get(letter ?? '') ?? null;
  const commandSequence = hex(sequence, 2);
  const result = results.get(code ?? '');
  if (
    (command === null && letter !== UNREADABLE && letter?.length !== 1) ||
    commandSequence === null ||
    !result
  )
    return 'bad-field';
  return { kind: 'answer', command, commandSequence, result, values };
}

function logPart([number, index, digits]: readonly string[]): LogPartFields | DiscardReason {
  const page = hex(number, 6);
  const part = hex(index, 1);
  const text = digits ?? '';
  if (
    page === null ||
    part === null ||
    part >= LOG_PAGE_BYTES / LOG_PART_BYTES ||
    text.length !== LOG_PART_BYTES * 2 ||
    !/^[0-9A-F]*$/.test(text)
  )
    return 'bad-field';
  return { kind: 'log-part', page, part, bytes: Uint8Array.from(Buffer.from(text, 'hex')) };
}

function logState([place, ...numbers]: readonly string[]): TellingFields | DiscardReason {
  const store = stores.get(place ?? '');
  const [oldest, open, acknowledged] = [0, 1, 2].map((at) => hex(numbers[at], 6)) as (number | null)[];
  const room = hex(numbers[3], 4);
  if (!store || oldest == null || open == null || acknowledged == null || room === null) return 'bad-field';
  return { kind: 'log-state', store, oldest, open, acknowledged, room };
}

/** Null from a board that does not tell. */
const setsOf = (count: string | undefined): number | null | 'bad-field' =>
  count === undefined ? null : (hex(count, 2) ?? 'bad-field');

function clock([code, seconds, count]: readonly string[]): TellingFields | DiscardReason {
  const state = clocks.get(code ?? '');
  const utc = unixSeconds(seconds);
  const sets = setsOf(count);
  if (!state || utc === null || sets === 'bad-field') return 'bad-field';
  return { kind: 'clock', clock: state, utc: utc === 'unknown' ? null : utc, sets };
}

function mark([number, boot, time, seconds, count]: readonly string[]): TellingFields | DiscardReason {
  const [markNumber, markBoot, markMs] = [hex(number, 2), hex(boot, 4), hex(time, 8)];
  const utc = unixSeconds(seconds);
  const sets = setsOf(count);
  if (markNumber === null || markBoot === null || markMs === null || utc === null || sets === 'bad-field')
    return 'bad-field';
  return {
    kind: 'mark',
    mark: markNumber,
    markBoot,
    markMs: boardMs(markMs),
    utc: utc === 'unknown' ? null : utc,
    sets,
  };
}

function settings([withHost, alone, count]: readonly string[]): TellingFields | DiscardReason {
  const [periodWithHostSeconds, periodAloneSeconds, slots] = [hex(withHost, 2), hex(alone, 2), hex(count, 2)];
  if (periodWithHostSeconds === null || periodAloneSeconds === null || slots === null) return 'bad-field';
  return { kind: 'settings', periodWithHostSeconds, periodAloneSeconds, slots };
}

function slotSetting([number, digits, low, high, seconds]: readonly string[]): TellingFields | DiscardReason {
  const [slot, cold, hot, due] = [hex(number, 2), hex(low, 4), hex(high, 4), unixSeconds(seconds)];
  if (slot === null || slot < 1 || slot > SLOTS_MAX || cold === null || hot === null || due === null)
    return 'bad-field';
  const rom = romOf(digits ?? '');
  if (rom === null) return 'bad-rom';
  const limit = (value: number) => (value === LIMIT_NONE ? null : signed16(value));
  return {
    kind: 'slot-setting',
    slot,
    rom,
    cold: limit(cold),
    hot: limit(hot),
    due: due === 'unknown' ? null : due,
  };
}

function alarms([past, late, mutedDigit]: readonly string[]): TellingFields | DiscardReason {
  const [act, due, muted] = [hex(past, 4), hex(late, 4), hex(mutedDigit, 1)];
  if (act === null || due === null || muted === null || muted > 1) return 'bad-field';
  return { kind: 'alarms', act: slotsIn(act), due: slotsIn(due), isMuted: muted === 1 };
}

function warning([code, number]: readonly string[]): TellingFields | DiscardReason {
  const what = warnings.get(code ?? '');
  const detail = hex(number, 4);
  if (!what || detail === null) return 'bad-field';
  return { kind: 'warning', warning: what, detail };
}

/** Bit 0 is slot 1. */
const slotsIn = (bits: number): number[] =>
  Array.from({ length: SLOTS_MAX }, (_, at) => at + 1).filter((slot) => bits & (1 << (slot - 1)));

function codesOf<Name extends string>(table: Record<Name, { readonly code: string }>): Record<Name, string> {
  return Object.fromEntries(
    Object.entries<{ readonly code: string }>(table).map(([name, { code }]) => [name, code]),
  ) as Record<Name, string>;
}
