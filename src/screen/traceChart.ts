import type { RuleSet } from '../exposure/ruleSet.js';
import type { Observation } from '../exposure/types.js';
import type { Celsius } from '../units/temperature.js';
import {
  between,
  type DurationMs,
  durationMs,
  later,
  minutes,
  seconds,
  type UtcMs,
  utcMs,
} from '../units/time.js';
import { type Line, type Span, span, type Tone } from './line.js';
import { type Bucket, buckets } from './trend.js';
import { temperatureText, timeText, type Unit } from './view.js';

/** What a chart is drawn of. */
export interface Trace {
  /** In order of time. */
  readonly observations: readonly Observation[];
  readonly load: UtcMs;
  /** The turn, or now. */
  readonly end: UtcMs;
  readonly rules: RuleSet;
  readonly zone: string;
}

const LABEL = 8;
const AXIS = '│';
/** Degrees that the picture reaches beyond what was read and beyond the threshold, at least. */
const MARGIN = 1;
const POINT = '█';
const THRESHOLD = '─';
const GAP = '░';

/**
 * One cup's temperatures as a picture of `height` rows and a line of times below. A column shows all from the lowest to
 * the highest that was read in it, so that no dip vanishes; it is hatched when any of its time is a gap. The threshold is
 * a line, and what lies below it has another tone.
 */
export function traceChart(trace: Trace, unit: Unit, width: number, height: number): Line[] {
  const { observations, load, end, rules, zone } = trace;
  const columns = Math.max(1, width - LABEL - AXIS.length);
  const until = utcMs(Math.max(end, later(load, minutes(rules.exposureMinutes))));
  const length = durationMs((between(load, until) + 1) / columns);
  const shown = buckets(observations, load, length, columns);
  const gaps = gapColumns(trace, length);
  const scale = scaleOf(shown, rules.thresholdCelsius, height);
  const line = scale.row(rules.thresholdCelsius);
  const rows = Array.from({ length: height }, (_, row): Line => {
    const marks = shown.map((bucket, column): Mark => {
      if (bucket !== null && row >= scale.row(bucket.max) && row <= scale.row(bucket.min))
        return { text: POINT, tone: row > line || bucket.max < rules.thresholdCelsius ? 'alarm' : 'good' };
      if (gaps.has(column)) return { text: GAP, tone: 'watch' };
      return row === line ? { text: THRESHOLD, tone: 'quiet' } : { text: ' ', tone: 'plain' };
    });
    return [
      span(`${labelOf(row, height, line, scale, rules, unit).padStart(LABEL)}${AXIS}`, 'quiet'),
      ...joined(marks),
    ];
  });
  return [...rows, timesLine(load, until, zone, width)];
}

/** The columns of which some time lies between readings too far apart to tell of it. */
function gapColumns({ observations, load, end, rules }: Trace, length: DurationMs): ReadonlySet<number> {
  const found = new Set<number>();
  let before: UtcMs = load;
  for (const at of [...observations.map((observation) => observation.at), end]) {
    if (between(before, at) > seconds(rules.maxGapSeconds)) {
      const last = Math.ceil(between(load, at) / length) - 1;
      for (let column = Math.floor(between(load, before) / length); column <= last; column += 1)
        found.add(column);
    }
    before = at;
  }
  return found;
}

interface Mark {
  readonly text: string;
  readonly tone: Tone;
}

/** Neighbours of one tone as one span. */
function joined(marks: readonly Mark[]): Span[] {
  const spans: Span[] = [];
  for (const { text, tone } of marks) {
    const last = spans.at(-1);
    if (last?.tone === tone) spans[spans.length - 1] = span(last.text + text, tone);
    else spans.push(span(text, tone));
  }
  return spans;
}

interface Scale {
  readonly top: number;
  readonly bottom: number;
  /** The row of a temperature, from 0 at the top. */
  row(celsius: Celsius): number;
}

function scaleOf(shown: readonly (Bucket | null)[], threshold: Celsius, height: number): Scale {
  const read = shown.filter((bucket) => bucket !== null);
  const top = Math.max(threshold, ...read.map(({ max }) => max)) + MARGIN;
  const bottom = Math.min(threshold, ...read.map(({ min }) => min)) - MARGIN;
  const step = (top - bottom) / height;
  // The threshold is the upper edge of a row: no temperature above it is drawn below the line.
  const line = Math.min(height - 1, Math.floor((top - threshold) / step));
  return {
    top,
    bottom,
    row(celsius) {
      const row = Math.max(0, Math.min(height - 1, Math.floor((top - celsius) / step)));
      if (celsius >= threshold) return Math.min(row, line);
      return Math.min(height - 1, Math.max(row, line + 1));
    },
  };
}

function labelOf(
  row: number,
  height: number,
  line: number,
  { top, bottom }: Scale,
  rules: RuleSet,
  unit: Unit,
): string {
  if (row === line) return temperatureText(rules.thresholdCelsius, unit);
  if (row === 0) return temperatureText(top as Celsius, unit);
  return row === height - 1 ? temperatureText(bottom as Celsius, unit) : '';
}

/** The times of load, of the end and of the middle. */
function timesLine(from: UtcMs, to: UtcMs, zone: string, width: number): Line {
  const [first, middle, last] = [from, utcMs((from + to) / 2), to].map((at) => timeText(at, zone)) as [
    string,
    string,
    string,
  ];
  const room = Math.max(0, width - LABEL - 1 - first.length - middle.length - last.length);
  const left = Math.floor(room / 2);
  return [
    span(
      `${' '.repeat(LABEL + 1)}${first}${' '.repeat(left)}${middle}${' '.repeat(room - left)}${last}`.slice(
        0,
        width,
      ),
      'quiet',
    ),
  ];
}
