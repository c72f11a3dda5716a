import type { CupRuling, Observation } from '../../exposure/types.js';
import { between, type DurationMs, durationMs, MS_PER_SECOND } from '../../units/time.js';
import { type Html, html } from '../html.js';
import { CONTENT_WIDTH } from '../page.js';
import { cut } from '../rangeChart.js';
import type { CupMaterial, Material } from './material.js';
import { plural } from './tell.js';
import { traceChart } from './trace.js';

const BETWEEN = 10;
const WIDTH = (CONTENT_WIDTH - BETWEEN) / 2;
/** Degrees of room beyond the limits and the readings. */
const ROOM = 2;

/** The traces of all cups, two side by side, on one scale of temperature and as many minutes to the same width. */
export function traces(material: Material): Html {
  const { cups, rules } = material;
  const all = cups.map((cup) => ({ cup, runs: runsOf(material, cup) }));
  const values = all.flatMap(({ runs }) =>
    runs.flatMap((run) => run.map(({ celsius }) => celsius as number)),
  );
  const lowest = values.reduce((low, value) => Math.min(low, value), rules.thresholdCelsius);
  const highest = values.reduce((high, value) => Math.max(high, value), rules.hotCelsius);
  const range = [Math.floor(lowest - ROOM), Math.ceil(highest + ROOM)] as const;
  const longest = Math.max(0, ...cups.map(({ exposure: { load, turn } }) => between(load, turn)));
  return html`<div class="row">
${all.map(({ cup, runs }) => trace(material, cup, runs, range, durationMs(longest)))}</div>
<p class="faint">Degrees Celsius, less the offset of each probe where one is known; each cup from its own load to its turn, by the yard's clock, all at one scale. Dashed: activation threshold; dotted: hot limit; shaded: time without a usable reading. Where readings are denser than the drawing, the coldest and the warmest of each column are drawn: no dip is lost.</p>`;
}

function trace(
  { rules, when, names }: Material,
  { cup, exposure, ruling }: CupMaterial,
  runs: readonly (readonly Observation[])[],
  range: readonly [number, number],
  span: DurationMs,
): Html {
  const { load, turn } = exposure;
  const places = cup.places.map(names.slot).join(', then ');
  const word = ruling?.ruling ?? 'still exposed';
  const chart = traceChart({
    width: WIDTH,
    load,
    span,
    runs,
    gaps: ruling?.gaps ?? [],
    range,
    thresholdCelsius: rules.thresholdCelsius,
    hotCelsius: rules.hotCelsius,
    alt: `Temperature of cup ${cup.cup} from ${when(load)} to ${when(turn)}: ${inWords(ruling)}`,
    clock: (at) => when(at).slice(11, 16),
  });
  return html`<figure><figcaption><b>${cup.cup}</b> ${cup.colony === null ? null : html`${cut(cup.colony, 18)} `}${places} <b>${word}</b>${
    cup.overruled === null ? null : html`, overruled: counts as <b>${cup.overruled.ruling}</b>`
  }</figcaption>${chart}</figure>
`;
}

function inWords(ruling: CupRuling | null): string {
  if (ruling === null) return 'still exposed.';
  const { minCelsius, meanCelsius, maxCelsius, reasons, gaps } = ruling;
  const degrees = [minCelsius, meanCelsius, maxCelsius].map((value) =>
    value === null ? 'unknown' : value.toFixed(1),
  );
  return `lowest ${degrees[0]}, mean ${degrees[1]}, highest ${degrees[2]} °C, ${plural(gaps.length, 'gap', 'gaps')}, ruled ${ruling.ruling}. ${reasons.join(' ')}`;
}

/** The readings of a cup's seatings, broken where nothing was read for too long. */
function runsOf({ rules, observationsOf }: Material, { exposure }: CupMaterial): Observation[][] {
  const longest = rules.maxGapSeconds * MS_PER_SECOND;
  return exposure.seatings.flatMap(({ probe, from, to }) => {
    const runs: Observation[][] = [];
    for (const reading of observationsOf(probe)) {
      if (reading.at < from || reading.at > to || reading.at < exposure.load || reading.at > exposure.turn)
        continue;
      const last = runs.at(-1);
      if (last === undefined || reading.at - last.at(-1)!.at > longest) runs.push([reading]);
      else last.push(reading);
    }
    return runs;
  });
}
