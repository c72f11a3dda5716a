import {
  levelInWords,
  levelOfEntry,
  percent,
  verdictInWords,
  type YardEntry,
} from '../../../shared/index.js';
import { type SweepPoint, thresholdSweep } from '../../exposure/sweep.js';
import { type Celsius, celsius } from '../../units/temperature.js';
import { efficacyOf } from '../../visit/result.js';
import { type Html, html } from '../html.js';
import { type Column, table } from '../table.js';
import type { Material } from './material.js';
import { interval, share } from './tell.js';

/** Thresholds are tried this far either way, in steps of one degree. */
const REACH = 4;

/** Neighbouring thresholds under which the same cups are ruled otherwise. */
interface Stretch {
  readonly first: SweepPoint;
  readonly last: SweepPoint;
}

/** What one arm comes to in a stretch. */
interface Row extends Stretch {
  readonly entry: YardEntry;
  /** Whether the threshold in force is among them, be it with U as stated, which counts, or with U as 0. */
  readonly isInForce: boolean;
}

/** How much hangs on the threshold and on U: what the answer becomes under others. */
export function sweep(material: Material): Html | null {
  const { cups, rules, observationsOf, result } = material;
  const exposures = cups.filter(({ ruling }) => ruling !== null).map(({ exposure }) => exposure);
  if (exposures.length === 0) return null;
  const points = thresholdSweep(exposures, observationsOf, rules, thresholdsAround(rules));
  const stretches = (['stated', 'zero'] as const).flatMap((uncertainty) =>
    stretchesOf(points.filter((point) => point.uncertainty === uncertainty)),
  );
  const rows = stretches.flatMap((stretch) => rowsOf(material, stretch));
  const { level } = result.efficacy;
  const levels = [...new Set(rows.map(({ entry }) => levelInWords(levelOfEntry(entry, level))))];
  const arms = new Set(rows.map(({ entry }) => entry.arm));
  const columns: Column<Row>[] = [
    { head: 'threshold °C', cell: thresholds },
    { head: 'U', cell: ({ first }) => (first.uncertainty === 'zero' ? '0' : 'as stated') },
    ...(arms.size > 1 ? [{ head: 'arm', cell: ({ entry }: Row) => entry.arm ?? 'no arm named' }] : []),
    {
      head: 'valid strip cups',
      isNumber: true,
      cell: ({ entry: { cups } }) => `${cups.valid} of ${cups.valid + cups.excluded}`,
    },
    { head: 'raw efficacy', isNumber: true, cell: ({ entry }) => share(entry.efficacy) },
    { head: `${levels.join(', ')} interval`, isNumber: true, cell: ({ entry }) => interval(entry.interval) },
    { head: 'verdict', cell: ({ entry }) => verdictInWords(entry.verdict, rules.line) },
    {
      head: 'ruled otherwise',
      cell: ({ first: { changed } }) =>
        changed.map(({ cup, from, to }) => `${cup} ${from} → ${to}`).join(', ') || 'none',
    },
  ];
  return html`<h2>What hangs on the threshold</h2>
<p>The same cups under other thresholds, with U as stated and as if temperatures were exact; thresholds that change nothing between them share a row, and what a person overruled stays so. The threshold in force is ${rules.thresholdCelsius.toFixed(2)} °C, and what counts is its row with U as stated. ${inWords(rows, rules)}</p>
${rows.length === 0 ? null : table('Threshold sweep', columns, rows)}`;
}

const isSame = (one: SweepPoint, other: SweepPoint): boolean =>
  JSON.stringify([one.changed, one.counts]) === JSON.stringify([other.changed, other.counts]);

function stretchesOf(points: readonly SweepPoint[]): Stretch[] {
  const stretches: Stretch[] = [];
  for (const point of points) {
    const before = stretches.at(-1);
    if (before !== undefined && isSame(before.first, point))
      stretches[stretches.length - 1] = { first: before.first, last: point };
    else stretches.push({ first: point, last: point });
  }
  return stretches;
}

/** Ruled by rule alone: an overrule is a person's word on the cup, whatever the threshold. */
function rowsOf({ season, visit, result, cups, rules }: Material, { first, last }: Stretch): Row[] {
  const overruled = new Set(cups.flatMap(({ cup }) => (cup.overruled === null ? [] : [cup.cup as string])));
  const rulings = new Map(
    first.changed.flatMap(({ cup, to }) => (overruled.has(cup) ? [] : [[cup, to] as const])),
  );
  const counts = result.counted.map((count) => ({
    ...count,
    ruling: rulings.get(count.cup) ?? count.ruling,
  }));
  const { yards } = rulings.size === 0 ? result.efficacy : efficacyOf(season, [visit], counts);
  const isInForce =
    first.thresholdCelsius <= rules.thresholdCelsius && rules.thresholdCelsius <= last.thresholdCelsius;
  return yards
    .filter(({ cups }) => cups.valid + cups.excluded > 0)
    .map((entry) => ({ first, last, entry, isInForce }));
}

const thresholds = ({ first, last, isInForce }: Row): string => {
  const [low, high] = [first, last].map(({ thresholdCelsius }) => thresholdCelsius.toFixed(2));
  return `${low === high ? low : `${low} to ${high}`}${isInForce ? ', in force' : ''}`;
};

/** Whether the answer hangs on the threshold at all. */
function inWords(rows: readonly Row[], { line }: Material['rules']): string {
  const verdicts = new Map<string | null, Set<string>>();
  for (const { entry } of rows)
    verdicts.set(entry.arm, (verdicts.get(entry.arm) ?? new Set()).add(entry.verdict));
  const moved = [...verdicts].filter(([, found]) => found.size > 1).map(([arm]) => arm ?? 'no arm named');
  if (verdicts.size === 0) return '';
  return moved.length === 0
    ? `Under none of them is the verdict about the ${percent(line)} line another one.`
    : `The verdict about the ${percent(line)} line hangs on it: ${verdicts.size === 1 ? '' : `${moved.join('; ')}: `}look at the rows.`;
}

function thresholdsAround({ thresholdCelsius, hotCelsius }: Material['rules']): Celsius[] {
  const steps = Array.from({ length: 2 * REACH + 1 }, (_, index) =>
    celsius(thresholdCelsius + index - REACH),
  );
  return steps.filter((threshold) => threshold < hotCelsius);
}
