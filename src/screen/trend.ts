import type { RuleSet } from '../exposure/ruleSet.js';
import { countWhile } from '../exposure/timeline.js';
import type { Observation } from '../exposure/types.js';
import type { Celsius } from '../units/temperature.js';
import { between, type DurationMs, durationMs, minutes, seconds, type UtcMs, utcMs } from '../units/time.js';

/** The lowest and the highest of what was read in a stretch of time: no dip vanishes between two points of a picture. */
export interface Bucket {
  readonly min: Celsius;
  readonly max: Celsius;
}

/**
 * What was read from `from` on, in `count` stretches of `length` each; null where nothing was.
 *
 * @param observations in order of time
 */
export function buckets(
  observations: readonly Observation[],
  from: UtcMs,
  length: DurationMs,
  count: number,
): (Bucket | null)[] {
  const found: ({ min: Celsius; max: Celsius } | null)[] = Array.from({ length: count }, () => null);
  for (let index = countWhile(observations, (at) => at < from); index < observations.length; index += 1) {
    const { at, celsius } = observations[index]!;
    const place = Math.floor((at - from) / length);
    if (place >= count) break;
    const known = found[place];
    if (!known) found[place] = { min: celsius, max: celsius };
    else if (celsius < known.min) known.min = celsius;
    else if (celsius > known.max) known.max = celsius;
  }
  return found;
}

/** How far back a trend looks. */
export const TREND_MINUTES = 30;
/** Nothing was read. */
export const UNREAD_MARK = '·';
/** What was read is not to be seen. */
const HIDDEN_MARK = ' ';
const BARS = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'] as const;
const BELOW = BARS[0];
const ABOVE = BARS[7];
/** Between the threshold and the hot limit; the last of them for all that is warm enough not to matter. */
const BETWEEN = BARS.slice(1, 7);
/** Degrees a bar, from the threshold on (j). */
const BAR = 3;
/** A stretch that has only begun and has no reading yet is not drawn while the last one is this young (j). */
const NOT_YET = seconds(60);

/**
 * The last half hour as `width` bars. The lowest bar is kept for the cold: a stretch has it if anything in it was read
 * below the threshold, and never otherwise; the highest is kept for the hot. Stretches begin at fixed times of day, so
 * that a picture moves on by whole bars.
 *
 * @param hiddenUntil stretches that begin before then stay blank; null when none is to be hidden
 */
export function trendText(
  observations: readonly Observation[],
  now: UtcMs,
  width: number,
  { thresholdCelsius, hotCelsius }: Pick<RuleSet, 'thresholdCelsius' | 'hotCelsius'>,
  hiddenUntil: UtcMs | null = null,
): string {
  const length = durationMs(minutes(TREND_MINUTES) / width);
  const last = observations[countWhile(observations, (at) => at <= now) - 1];
  const until = last !== undefined && between(last.at, now) <= NOT_YET ? last.at : now;
  const end = (Math.floor(until / length) + 1) * length;
  const begin = end - length * width;
  return buckets(observations, utcMs(begin), length, width)
    .map((bucket, index) => {
      if (hiddenUntil !== null && begin + index * length < hiddenUntil) return HIDDEN_MARK;
      if (bucket === null) return UNREAD_MARK;
      if (bucket.min < thresholdCelsius) return BELOW;
      if (bucket.max > hotCelsius) return ABOVE;
      const height = Math.floor((bucket.min - thresholdCelsius) / BAR);
      return BETWEEN[Math.min(BETWEEN.length - 1, height)]!;
    })
    .join('');
}

/** Less than this in the last minutes is no trend, degrees (j). */
const STEADY = 0.25;
const ARROW_MINUTES = 5;

/** Where the temperature is going, as one character; blank when nothing tells. */
export function trendArrow(observations: readonly Observation[], now: UtcMs): string {
  const first = observations[countWhile(observations, (at) => at < now - minutes(ARROW_MINUTES))];
  const last = observations[countWhile(observations, (at) => at <= now) - 1];
  if (first === undefined || last === undefined || last.at <= first.at) return ' ';
  const change = last.celsius - first.celsius;
  if (Math.abs(change) < STEADY) return '→';
  return change < 0 ? '↓' : '↑';
}
