import { scaleLinear } from 'd3-scale';
import type { Interval } from '../../shared/index.js';
import { drawing, px } from './drawing.js';
import { type Html, html } from './html.js';
import { CONTENT_WIDTH } from './page.js';
import { PALETTE } from './palette.js';

export interface RangeRow {
  readonly label: string;
  /** Shares from 0 to 1; null when there is none. */
  readonly estimate: number | null;
  readonly interval: Interval | null;
  /** Stands at the right of the row. */
  readonly remark: string;
}

export interface RangeChart {
  readonly rows: readonly RangeRow[];
  readonly line: number;
  readonly lineLabel: string;
  readonly axisLabel: string;
  readonly alt: string;
  /** A number of a hundred in the language of the page. */
  readonly tick: (value: number) => string;
}

const ROW = 21;
const TOP = 18;
const BOTTOM = 32;
/** From here to there the axis runs; labels to its left, remarks to its right. */
const LEFT = 176;
const RIGHT = CONTENT_WIDTH - 200;
const LETTERS_MAX = 28;

/** One row for each yard and arm: the estimate as a dot, its range as a bar, the line that they are held against. */
export function rangeChart({ rows, line, lineLabel, axisLabel, alt, tick }: RangeChart): Html {
  const x = scaleLinear([0, 1], [LEFT, RIGHT]);
  const bottom = TOP + ROW * rows.length;
  const at = px(x(line));
  const drawn = rows.map((row, index) => {
    const y = TOP + ROW * (index + 0.5);
    return html`<text x="${LEFT - 8}" y="${y + 4}" font-size="12" text-anchor="end">${cut(row.label, LETTERS_MAX)}</text>
${
  row.interval === null
    ? null
    : html`<rect x="${px(x(row.interval[0]))}" y="${y - 5}" width="${px(x(row.interval[1]) - x(row.interval[0]))}" height="10" fill="${PALETTE.range}" stroke="${PALETTE.measured}" stroke-width="0.75"/>
`
}${row.estimate === null ? null : html`<circle cx="${px(x(row.estimate))}" cy="${y}" r="4.5" fill="${PALETTE.measured}"/>\n`}<text x="${RIGHT + 10}" y="${y + 4}" font-size="11.5">${row.remark}</text>
`;
  });
  const ticks = x.ticks(5).map(
    (value) =>
      html`<line x1="${px(x(value))}" x2="${px(x(value))}" y1="${TOP}" y2="${bottom + 4}" stroke="${PALETTE.rule}"/>
<text x="${px(x(value))}" y="${bottom + 16}" font-size="11" text-anchor="middle">${tick(value * 100)}</text>
`,
  );
  return drawing({
    width: CONTENT_WIDTH,
    height: bottom + BOTTOM,
    alt,
    body: html`${ticks}<text x="${(LEFT + RIGHT) / 2}" y="${bottom + 29}" font-size="11" text-anchor="middle">${axisLabel}</text>
<line x1="${at}" x2="${at}" y1="${TOP - 4}" y2="${bottom + 4}" stroke="${PALETTE.limit}" stroke-width="2" stroke-dasharray="6 3"/>
<text x="${at}" y="${TOP - 7}" font-size="11.5" font-weight="bold" text-anchor="middle">${lineLabel}</text>
${drawn}`,
  });
}

/** A text of at most so many letters. Its end is kept as well, for there numbers and lots stand. */
export const cut = (text: string, letters: number): string => {
  const all = [...text];
  if (all.length <= letters) return text;
  const end = Math.floor((letters - 1) / 2);
  return `${all
    .slice(0, letters - 1 - end)
    .join('')
    .trimEnd()}…${all.slice(-end).join('').trimStart()}`;
};
