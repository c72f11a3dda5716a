import { type SweepPoint, thresholdSweep } from '../../exposure/sweep.js';
import { RULINGS } from '../../exposure/types.js';
import { type Celsius, celsius } from '../../units/temperature.js';
import { type Html, html } from '../html.js';
import { type Column, table } from '../table.js';
import type { Material } from './material.js';

/** Thresholds are tried this far either way, in steps of one degree. */
const REACH = 4;

/** How much hangs on the threshold and on U: the rulings under others. */
export function sweep({ cups, rules, observationsOf }: Material): Html | null {
  const exposures = cups.filter(({ ruling }) => ruling !== null).map(({ exposure }) => exposure);
  if (exposures.length === 0) return null;
  const points = thresholdSweep(exposures, observationsOf, rules, thresholdsAround(rules));
  const used = RULINGS.filter((ruling) => points.some(({ counts }) => counts[ruling] !== undefined));
  const columns: Column<SweepPoint>[] = [
    { head: 'threshold °C', isNumber: true, cell: ({ thresholdCelsius }) => thresholdCelsius.toFixed(2) },
    { head: 'U', cell: ({ uncertainty }) => (uncertainty === 'zero' ? '0' : 'as stated') },
    ...used.map(
      (ruling): Column<SweepPoint> => ({
        head: ruling,
        isNumber: true,
        cell: ({ counts }) => counts[ruling] ?? 0,
      }),
    ),
    {
      head: 'ruled otherwise',
      cell: ({ changed }) =>
        changed.map(({ cup, from, to }) => `${cup} ${from} → ${to}`).join(', ') || 'none',
    },
  ];
  return html`<h2>What hangs on the threshold</h2>
<p>The same cups under other thresholds, with U as stated and as if temperatures were exact. The threshold in force is ${rules.thresholdCelsius.toFixed(2)} °C.</p>
${table('Threshold sweep', columns, points)}`;
}

function thresholdsAround({ thresholdCelsius, hotCelsius }: Material['rules']): Celsius[] {
  const steps = Array.from({ length: 2 * REACH + 1 }, (_, index) =>
    celsius(thresholdCelsius + index - REACH),
  );
  return steps.filter((threshold) => threshold < hotCelsius);
}
