import { axisEnd, dotPlot } from '../dotPlot.js';
import { type Html, html } from '../html.js';
import { CONTENT_WIDTH } from '../page.js';
import { rangeChart } from '../rangeChart.js';
import { bestOfHundred, day, number, percentIn, rangeOfHundred } from '../words/figures.js';
import type { Words } from '../words/words.js';
import { armIn, type ColonyMites, type Findings } from './findings.js';

/** Mites per 100 bees at which a beekeeper acts, by his own word. */
export interface ActionLevel {
  readonly per100: number;
  readonly source: string;
  readonly date: string;
}

/** Estimate, range and line of every yard and arm in one picture. */
export function resultPicture(words: Words, all: readonly Findings[]): Html {
  const rows = all.flatMap((findings) => {
    const { yard, entries, rules } = findings;
    return entries.map((entry) => {
      const estimate = entry.efficacy === null ? null : bestOfHundred(words, entry.efficacy, rules.line);
      const range = entry.interval === null ? null : rangeOfHundred(words, entry.interval, rules.line);
      const verdict = words.found.verdict(entry.verdict, percentIn(words, rules.line));
      return {
        label: words.part(yard, entries.length > 1 ? armIn(words, findings, entry.arm) : null),
        estimate: entry.efficacy,
        interval: entry.interval,
        remark:
          estimate === null
            ? words.found.noEstimate
            : `${estimate}${range === null ? '' : ` (${range[0]} – ${range[1]})`}`,
        alt: `${words.part(yard, armIn(words, findings, entry.arm))}: ${estimate === null ? words.found.noEstimate : range === null ? words.found.noRange(estimate) : words.found.range(range[0], range[1], estimate)} ${verdict}.`,
      };
    });
  });
  const { line } = all.find(({ entries }) => entries.length > 0)!.rules;
  const picture = rangeChart({
    rows,
    line,
    lineLabel: words.found.lineLabel(percentIn(words, line)),
    axisLabel: words.found.axis,
    alt: `${words.found.picture} ${rows.map(({ alt }) => alt).join(' ')}`,
    tick: (value) => number(words, value),
  });
  return html`<figure class="wide">${picture}</figure>`;
}

/** Side by side at most so many plots, with this between them. */
const PLOTS_A_ROW = 3;
const BETWEEN = 10;

/** Mites per 100 bees of each colony, a plot for each visit, all on one scale. */
export function colonyPictures(words: Words, all: readonly Findings[], action: ActionLevel | null): Html {
  const shown = all.filter(({ colonies }) => colonies.length > 0);
  if (shown.length === 0) return html`<p>${words.colonies.none}</p>`;
  const most = Math.min(PLOTS_A_ROW, shown.length);
  const width = Math.min(440, Math.floor((CONTENT_WIDTH - BETWEEN * (most - 1)) / most));
  const max = axisEnd([
    action?.per100 ?? 0,
    ...shown.flatMap(({ colonies }) =>
      colonies.flatMap(({ per100, interval }) => [per100, interval?.[1] ?? 0]),
    ),
  ]);
  const tick = (value: number) => number(words, value, Number.isInteger(value) ? 0 : 1);
  const name = ({ colony, cup }: ColonyMites) => colony ?? words.colonies.noColony(cup);
  const plots = shown.map(({ yard, at, zone, colonies }) => {
    const rows = colonies.map((each) => ({
      label: name(each),
      value: each.per100,
      interval: each.interval,
      told: number(words, each.per100, 1),
    }));
    const title = words.yard(yard, day(words, at, zone));
    const alt = `${title}, ${words.colonies.axis}. ${rows.map(({ label, told }) => words.colonies.alt(label, told)).join(', ')}.`;
    const plot = dotPlot({
      width,
      rows,
      max,
      level: action?.per100 ?? null,
      alt,
      tick,
    });
    return html`<figure><figcaption>${words.part(yard, null)}</figcaption>${plot}</figure>`;
  });
  return html`<div class="row">${plots}</div>`;
}
