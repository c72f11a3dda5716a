import { type Celsius, toFahrenheit } from '../units/temperature.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import { dayIn } from '../units/zone.js';
import { openVisits, type Season } from '../visit/season.js';

/** The unit that people read; everything inside is Celsius. */
export type Unit = 'C' | 'F';

/** A temperature with one decimal and its unit. */
export function temperatureText(point: Celsius, unit: Unit): string {
  const degrees = unit === 'C' ? point : toFahrenheit(point);
  const text = degrees.toFixed(1);
  return `${text === '-0.0' ? '0.0' : text}°${unit}`;
}

/** From here on minutes are told in hours. */
const HOURS_FROM = 600;

/**
 * Time left until a cup is due: rounded up while it runs, so that "1 min" means "within the minute"; rounded down once
 * it is over.
 *
 * @param minutes negative when late
 */
export function timeLeftText(minutes: number): string {
  if (minutes > 0) return lengthText(Math.ceil(minutes));
  const late = Math.floor(-minutes);
  return late === 0 ? 'due now' : `late ${lengthText(late)}`;
}

const lengthText = (minutes: number): string =>
  minutes < HOURS_FROM ? `${minutes} min` : `${Math.floor(minutes / 60)} h`;

/** Each knows the zone abbreviations of its own part of the world, and gives offsets elsewhere. */
const LOCALES = ['en-US', 'en-GB', 'en-AU'] as const;

/** Making a formatter costs a hundred times what using it does. */
const formatters = new Map<string, readonly Intl.DateTimeFormat[] | null>();

/** Null when the zone is unknown. */
function formattersOf(zone: string): readonly Intl.DateTimeFormat[] | null {
  const known = formatters.get(zone);
  if (known !== undefined) return known;
  const made = madeFormatters(zone);
  formatters.set(zone, made);
  return made;
}

function madeFormatters(zone: string): readonly Intl.DateTimeFormat[] | null {
  try {
    return LOCALES.map(
      (locale) =>
        new Intl.DateTimeFormat(locale, {
          timeZone: zone,
          hour: '2-digit',
          minute: '2-digit',
          second: '2-digit',
          hourCycle: 'h23',
          timeZoneName: 'short',
        }),
    );
  } catch {
    return null;
  }
}

/** The time of day in a zone, with the zone's abbreviation or offset; UTC when the zone is unknown. */
export function clockText(at: UtcMs, zone: string): string {
  const texts = formattersOf(zone)?.map((formatter) => formatter.format(at));
  if (texts === undefined) return `${formatInstant(at).slice(11, 19)} UTC`;
  return texts.find((text) => !/GMT[+-]/.test(text)) ?? texts[0]!;
}

/** The time of day in a zone as hours and minutes, cut to the minute. */
export const timeText = (at: UtcMs, zone: string): string =>
  (formattersOf(zone)?.[0]?.format(at) ?? formatInstant(at).slice(11)).slice(0, 5);

/** The same, with the date before it when that is not today's. */
export function dayTimeText(at: UtcMs, zone: string, now: UtcMs): string {
  const date = dayIn(at, zone);
  return date === dayIn(now, zone) ? timeText(at, zone) : `${date} ${timeText(at, zone)}`;
}

/** The zone of the first visit that is still open, in order of opening; another one when there is none. */
export const zoneOf = (season: Season, otherwise: string): string => openVisits(season)[0]?.zone ?? otherwise;
