import type { Alarm } from '../exposure/live.js';
import { type Celsius, toFahrenheit } from '../units/temperature.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import type { Season } from '../visit/season.js';
import type { CupView, SlotView } from '../visit/slots.js';
import { fittedEnd, type Line, span, type Tone } from './line.js';
import type { LoggerSign } from './loggerSign.js';

/** The unit that people read; everything inside is Celsius. */
export type Unit = 'C' | 'F';

/** A temperature with one decimal and its unit. */
export function temperatureText(point: Celsius, unit: Unit): string {
  const degrees = unit === 'C' ? point : toFahrenheit(point);
  const text = degrees.toFixed(1);
  return `${text === '-0.0' ? '0.0' : text}°${unit}`;
}

/**
 * Time left until a cup is due, as hours and minutes: rounded up while it runs, so that 0:01 means "within the
 * minute"; rounded down once it is over.
 *
 * @param minutes negative when overdue
 */
export function timeLeftText(minutes: number): string {
  if (minutes > 0) return hoursAndMinutes(Math.ceil(minutes));
  const over = Math.floor(-minutes);
  return over === 0 ? 'due now' : `over ${hoursAndMinutes(over)}`;
}

const hoursAndMinutes = (minutes: number): string =>
  `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, '0')}`;

/** Each knows the zone abbreviations of its own part of the world, and gives offsets elsewhere. */
const LOCALES = ['en-US', 'en-GB', 'en-AU'] as const;

/** The time of day in a zone, with the zone's abbreviation or offset; UTC when the zone is unknown. */
export function clockText(at: UtcMs, zone: string): string {
  try {
    const texts = LOCALES.map((locale) =>
      new Intl.DateTimeFormat(locale, {
        timeZone: zone,
        hour: '2-digit',
        minute: '2-digit',
        second: '2-digit',
        hourCycle: 'h23',
        timeZoneName: 'short',
      }).format(at),
    );
    return texts.find((text) => !/GMT[+-]/.test(text)) ?? texts[0]!;
  } catch {
    return `${formatInstant(at).slice(11, 19)} UTC`;
  }
}

/** The zone of the first visit that is still open, in order of opening; another one when there is none. */
export function zoneOf(season: Season, otherwise: string): string {
  for (const visit of season.visits.values()) if (visit.closed === null) return visit.zone;
  return otherwise;
}

const NO_PROBE: Alarm = { level: 'act-now', text: 'no probe in this slot: move the cup to another' };

/** The state of a seated cup in one or two words, and what they mean. */
export function stateOf({ rom }: SlotView, { cup, state }: CupView): { word: string; tone: Tone } {
  if (cup.spoiled !== null) return { word: 'spoiled', tone: 'quiet' };
  if (state.ruledAlready !== null) return { word: 'ruled out', tone: 'quiet' };
  if (rom === null) return { word: 'no probe', tone: 'alarm' };
  if (state.word === 'warm') return { word: 'warm', tone: 'good' };
  return { word: state.word, tone: state.word === 'cold' || state.word === 'hot' ? 'alarm' : 'watch' };
}

const SLOT = 2;
const CUP_AND_TEMPERATURE = 16;
const TEMPERATURE = 6;
const STATE = 9;
const LEFT = 9;
/** Slot, cup, temperature, state, time left, and a blank between each two. */
export const ROW_WIDTH_MIN = SLOT + 1 + CUP_AND_TEMPERATURE + 1 + STATE + 1 + LEFT;

/** One slot as a line of exactly `width` characters, which must be at least `ROW_WIDTH_MIN`. */
export function slotLine(view: SlotView, unit: Unit, width: number): Line {
  const number = String(view.slot).padStart(SLOT);
  const room = CUP_AND_TEMPERATURE + width - ROW_WIDTH_MIN;
  const degrees = temperatureOf(view, unit);
  const label = (text: string) => fittedEnd(text, room - 1 - Math.max(TEMPERATURE, degrees.length));
  const named = (text: string) => text.padEnd(room - degrees.length) + degrees;
  if (view.cup === null) {
    const word = view.rom === null ? 'no probe' : '';
    return [span(`${number} ${named('empty')} ${word.padEnd(STATE)} ${' '.repeat(LEFT)}`, 'quiet')];
  }
  const { word, tone } = stateOf(view, view.cup);
  const minutes = view.cup.state.minutesToDue;
  const left = view.cup.cup.spoiled !== null ? '' : timeLeftText(minutes);
  // "no reading" is the one word too long for its column; there is no temperature to its left then.
  const lead = `${number} ${named(label(view.cup.cup.cup))} `;
  const shift = Math.max(0, word.length - STATE);
  return [
    span(lead.slice(0, lead.length - shift)),
    span(word.padEnd(STATE), tone),
    span(' '),
    span(left.padStart(LEFT), minutes <= 0 ? 'watch' : 'plain'),
  ];
}

/** The latest temperature of a slot, empty when nothing is known of now. */
function temperatureOf({ cup, latest }: SlotView, unit: Unit): string {
  const shown = cup === null ? latest : cup.state.word === 'no reading' ? null : cup.state.latest;
  return shown === null ? '' : temperatureText(shown.celsius, unit);
}

/** An alarm as the crew reads it. */
export interface AlarmRow {
  readonly level: Alarm['level'];
  /** Carrier and slot, empty when the cup is in none. */
  readonly place: string;
  readonly cup: string;
  readonly yard: string;
  readonly text: string;
}

/** All alarms: act-now first, then due, the most pressing first in each. A silent logger comes before all. */
export function alarmRows(
  slots: readonly SlotView[],
  unseated: readonly CupView[],
  logger: LoggerSign,
): AlarmRow[] {
  const found = [
    ...slots.flatMap((view) => (view.cup === null ? [] : alarmOf(view.cup, view))),
    ...unseated.flatMap((view) => alarmOf(view, null)),
  ];
  const cups = found.sort((a, b) => a.order - b.order || a.pressing - b.pressing).map(({ row }) => row);
  if (!logger.silent) return cups;
  const text = `${logger.words}: start it again`;
  return [{ level: 'act-now', place: '', cup: 'logger', yard: '', text }, ...cups];
}

function alarmOf({ cup, visit, state }: CupView, slot: SlotView | null) {
  if (cup.spoiled !== null) return [];
  const unseen = slot !== null && slot.rom === null && state.alarm?.level !== 'due';
  const alarm = unseen && state.ruledAlready === null ? NO_PROBE : state.alarm;
  if (alarm === null) return [];
  const place = slot === null ? '' : `${slot.carrier}:${slot.slot}`;
  const row: AlarmRow = { level: alarm.level, place, cup: cup.cup, yard: visit.yard, text: alarm.text };
  return alarm.level === 'act-now'
    ? [{ row, order: 0, pressing: state.coldMinutesLeft }]
    : [{ row, order: 1, pressing: state.minutesToLong }];
}

/** The cups that wait to be seated, in one sentence; null when there are none. */
export function unseatedText(unseated: readonly CupView[], width: number): string | null {
  if (unseated.length === 0) return null;
  const cups = unseated.map(({ cup, state }) => `${cup.cup} (due ${dueText(state.minutesToDue)})`);
  for (let shown = cups.length; shown > 0; shown -= 1) {
    const more = cups.length - shown;
    const text = `Not seated: ${cups.slice(0, shown).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
    if (text.length <= width) return text;
  }
  return `Not seated: ${cups.length} cup${cups.length === 1 ? '' : 's'}`;
}

const dueText = (minutes: number): string =>
  minutes > 0 ? `in ${timeLeftText(minutes)}` : timeLeftText(minutes).replace('due ', '');
