import { scaleLinear } from 'd3-scale';
import { line } from 'd3-shape';
import type { Gap, Observation } from '../../exposure/types.js';
import { type DurationMs, later, type UtcMs } from '../../units/time.js';
import { drawing, px } from '../drawing.js';
import { type Html, html } from '../html.js';
import { PALETTE, PAPER } from '../palette.js';
import { reduced } from './reduce.js';

export interface Trace {
  readonly width: number;
  readonly load: UtcMs;
  /** How much time the width stands for, so that all traces of a page have one scale: the longest exposure. */
  readonly span: DurationMs;
  /** Unbroken runs of readings, each in order of time. */
  readonly runs: readonly (readonly Observation[])[];
  readonly gaps: readonly Gap[];
  /** The scale that all traces of a page share, degrees Celsius. */
  readonly range: readonly [number, number];
  readonly thresholdCelsius: number;
  readonly hotCelsius: number;
  readonly alt: string;
  /** The hour of an instant, as `09:00`. */
  readonly clock: (at: UtcMs) => string;
}

const HEIGHT = 118;
const LEFT = 30;
const TOP = 6;
const BOTTOM = 18;
/** Half of an hour's label. */
const LABEL_HALF = 16;
/** Paper behind a word, so that no grid line strikes it through. */
const HALO = html`stroke="${PAPER}" stroke-width="3" stroke-linejoin="round" paint-order="stroke"`;
const HALF_HOUR_MS = 1_800_000;

/** The temperature of one cup from load to turn, against the threshold and the hot limit; time without a reading is shaded. */
export function traceChart(trace: Trace): Html {
  const { width, load, span, range, thresholdCelsius, hotCelsius, alt, clock } = trace;
  const bottom = HEIGHT - BOTTOM;
  const x = scaleLinear([load, load + Math.max(span, 1)], [LEFT, width - 6]);
  const y = scaleLinear(range, [bottom, TOP]);
  const path = line<Observation>(
    ({ at }) => px(x(at)),
    ({ celsius }) => px(y(celsius)),
  ).digits(2);
  const columns = Math.floor(width - LEFT);
  const level = (
    celsius: number,
    dash: string,
    name: string,
  ) => html`<line x1="${LEFT}" x2="${width - 6}" y1="${px(y(celsius))}" y2="${px(y(celsius))}" stroke="${PALETTE.limit}" stroke-width="1" stroke-dasharray="${dash}"/>
<text x="${LEFT + 3}" y="${px(y(celsius) + 9)}" font-size="9" ${HALO}>${name}</text>
`;
  return drawing({
    width,
    height: HEIGHT,
    alt,
    body: html`${trace.gaps.map(({ from, to }) => html`<rect x="${px(x(from))}" y="${TOP}" width="${px(Math.max(0.75, x(to) - x(from)))}" height="${bottom - TOP}" fill="${PALETTE.gap}"/>\n`)}${y
      .ticks(5)
      .map(
        (
          value,
        ) => html`<line x1="${LEFT}" x2="${width - 6}" y1="${px(y(value))}" y2="${px(y(value))}" stroke="${PALETTE.rule}" stroke-width="0.5"/>
<text x="${LEFT - 4}" y="${px(y(value)) + 3}" font-size="9" text-anchor="end">${value}</text>
`,
      )}${halfHours(load, later(load, span))
      .filter((at) => x(at) < width - LABEL_HALF)
      .map(
        (
          at,
        ) => html`<line x1="${px(x(at))}" x2="${px(x(at))}" y1="${TOP}" y2="${bottom + 3}" stroke="${PALETTE.rule}" stroke-width="0.5"/>
<text x="${px(x(at))}" y="${bottom + 13}" font-size="9" text-anchor="middle">${clock(at)}</text>
`,
      )}${level(thresholdCelsius, '5 3', 'threshold')}${level(hotCelsius, '1.5 2.5', 'hot')}${trace.runs.map(
      (run) =>
        run.length === 1
          ? html`<circle cx="${px(x(run[0]!.at))}" cy="${px(y(run[0]!.celsius))}" r="1.2" fill="${PALETTE.measured}"/>\n`
          : html`<path d="${path(reduced(run, columns))}" fill="none" stroke="${PALETTE.measured}" stroke-width="1.25" stroke-linejoin="round"/>\n`,
    )}`,
  });
}

function halfHours(from: UtcMs, to: UtcMs): UtcMs[] {
  const first = Math.ceil(from / HALF_HOUR_MS) * HALF_HOUR_MS;
  const count = Math.max(0, Math.floor((to - first) / HALF_HOUR_MS) + 1);
  return Array.from({ length: count }, (_, index) => (first + index * HALF_HOUR_MS) as UtcMs);
}
