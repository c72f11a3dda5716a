import { Temporal } from 'temporal-polyfill';
import type { Interval } from '../../../shared/index.js';
import type { UtcMs } from '../../units/time.js';
import type { Words } from './words.js';

type Language = Pick<Words, 'locale'>;

/** A number in the way of a language, with so many decimals. */
export const number = ({ locale }: Language, value: number, decimals = 0): string =>
  new Intl.NumberFormat(locale, {
    minimumFractionDigits: decimals,
    maximumFractionDigits: decimals,
    useGrouping: false,
  }).format(value);

/** A share as percent with at most one decimal. */
export const percentIn = ({ locale }: Language, share: number): string =>
  `${new Intl.NumberFormat(locale, { maximumFractionDigits: 1, useGrouping: false }).format(share * 100)} %`;

/** The day of an instant in a zone. */
export const day = ({ locale }: Language, at: UtcMs, zone: string): string =>
  Temporal.Instant.fromEpochMilliseconds(at)
    .toZonedDateTimeISO(zone)
    .toPlainDate()
    .toLocaleString(locale, { dateStyle: 'long' });

const DECIMALS_MAX = 4;

/**
 * A share as mites of a hundred, with as many decimals as it takes not to look as if it were on the other side of the
 * line: 69.6 must not be told as 70. A lower limit is rounded down and an upper one up, so that the range told is never
 * narrower than it is.
 */
function ofHundred(
  language: Language,
  share: number,
  line: number,
  round: (value: number) => number,
): string {
  for (let decimals = 0; ; decimals += 1) {
    const scale = 10 ** decimals;
    // What sixteen digits leave of 57 of 100 is 56.99999999999999.
    const told = round(Number((share * 100 * scale).toFixed(6))) / scale;
    if (told >= line * 100 === share >= line || decimals === DECIMALS_MAX)
      return number(language, told, decimals);
  }
}

/** The limits of a share as mites of a hundred. */
export const rangeOfHundred = (language: Language, [low, high]: Interval, line: number): [string, string] => [
  ofHundred(language, low, line, Math.floor),
  ofHundred(language, high, line, Math.ceil),
];

export const bestOfHundred = (language: Language, share: number, line: number): string =>
  ofHundred(language, share, line, Math.round);

/** A level is told of so many tests at the most. */
const TESTS_MAX = 10_000;

/**
 * A level as tests of which so many are right: 95 of 100, 975 of 1000. What no such number tells exactly is rounded down,
 * so that nothing is promised that does not hold.
 */
export function testsOf(language: Language, level: number): [right: string, of: string] {
  for (let of = 100; ; of *= 10) {
    const right = Number((level * of).toFixed(6));
    if (Number.isInteger(right) || of === TESTS_MAX)
      return [number(language, Math.floor(right)), number(language, of)];
  }
}
