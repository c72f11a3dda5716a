import { scaleLinear } from 'd3-scale';
import type { Interval } from '../../shared/index.js';
import { drawing, px } from './drawing.js';
import { type Html, html } from './html.js';
import { PALETTE } from './palette.js';
import { cut } from './rangeChart.js';

export interface DotPlot {
  readonly width: number;
  readonly rows: readonly DotRow[];
  /** Where the axis ends, so that plots side by side have one scale. */
  readonly max: number;
  /** A level that the reader set, drawn as a dashed line; null when there is none. */
  readonly level: number | null;
  readonly alt: string;
  readonly tick: (value: number) => string;
}

export interface DotRow {
  readonly label: string;
  readonly value: number;
  readonly interval: Interval | null;
  /** The value as it is written beside its dot. */
  readonly told: string;
}

const ROW = 12.5;
const TOP = 4;
const BOTTOM = 18;
const PIXELS_PER_LETTER = 6;

/** A dot for each row, and a thin line for its range. No bands, no colours that judge. */
export function dotPlot({ width, rows, max, level, alt, tick }: DotPlot): Html {
  const letters = Math.min(Math.max(...rows.map(({ label }) => label.length), 2), Math.floor(width / 18));
  const left = letters * PIXELS_PER_LETTER + 10;
  const right = width - 34;
  const x = scaleLinear([0, max], [left, right]);
  const bottom = TOP + ROW * rows.length;
  const clipped = (value: number) => px(x(Math.min(value, max)));
  const drawn = rows.map(({ label, value, interval, told }, index) => {
    const y = TOP + ROW * (index + 0.5);
    return html`<text x="${left - 6}" y="${y + 4}" font-size="10.5" text-anchor="end">${cut(label, letters)}</text>
${
  interval === null
    ? null
    : html`<line x1="${clipped(interval[0])}" x2="${clipped(interval[1])}" y1="${y}" y2="${y}" stroke="${PALETTE.measured}" stroke-width="1.25"/>
`
}<circle cx="${clipped(value)}" cy="${y}" r="3.6" fill="${PALETTE.measured}"/>
<text x="${right + 6}" y="${y + 4}" font-size="10.5">${told}</text>
`;
  });
  const ticks = x.ticks(4).map(
    (value) =>
      html`<line x1="${px(x(value))}" x2="${px(x(value))}" y1="${TOP}" y2="${bottom + 3}" stroke="${PALETTE.rule}"/>
<text x="${px(x(value))}" y="${bottom + 14}" font-size="10" text-anchor="middle">${tick(value)}</text>
`,
  );
  return drawing({
    width,
    height: bottom + BOTTOM,
    alt,
    body: html`${ticks}${
      level === null
        ? null
        : html`<line x1="${clipped(level)}" x2="${clipped(level)}" y1="${TOP}" y2="${bottom + 3}" stroke="${PALETTE.limit}" stroke-width="1.5" stroke-dasharray="5 3"/>
`
    }${drawn}`,
  });
}

/** The end of an axis that holds all of these and their ranges. */
export function axisEnd(values: readonly number[]): number {
  const [, end] = scaleLinear([0, Math.max(1, ...values)], [0, 1])
    .nice(4)
    .domain();
  return end!;
}
