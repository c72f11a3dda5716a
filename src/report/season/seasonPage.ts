import {
  type CupFlow,
  type Interval,
  levelInWords,
  levelOfEntry,
  percent,
  type SeasonEntry,
  type ShareBelow,
  verdictInWords,
} from '../../../shared/index.js';
import { A_NAME, MISSING_IN_WORDS } from '../../visit/keptWords.js';
import type { Operator } from '../../visit/seasonLosses.js';
import type { SeasonResult, YardOfSeason } from '../../visit/seasonResult.js';
import { type Html, html } from '../html.js';
import { page } from '../page.js';
import { rangeChart } from '../rangeChart.js';
import { table } from '../table.js';

/** What a page of a season says beside its figures. */
export interface SeasonOrigin {
  /** How the yards were chosen, in somebody's words; null when nobody said. */
  readonly chosen: string | null;
  /** Whether names of people are told. */
  readonly withPeople: boolean;
  readonly version: string;
  /** The chains that it rests on, in words. */
  readonly chains: string;
}

/** A season on one page: yards and arms side by side, and where the cups went. */
export function seasonPage(result: SeasonResult, origin: SeasonOrigin): string {
  const { remarks } = result;
  return page({
    language: 'en',
    title: 'Season: yards side by side',
    isDense: true,
    body: html`<h1>Season: ${yardCount(result)} side by side</h1>
${result.yards.length === 0 ? html`<p>No cup has been loaded.</p>` : yardsTable(result)}
${result.arms.map((arm) => armPart(arm, result))}
<h2>How the yards were chosen</h2>
<p>${chosenInWords(origin.chosen)}</p>
<h2>Where the strip cups went</h2>
${flowTable(result)}
<p>Cold days are not random: a season that lost many cups to cold tells of its warm days.</p>
${lostPart(result)}
<h2>By who loaded them</h2>
${operatorsPart(result, origin.withPeople)}
<h2>By strip lot</h2>
${lotsPart(result)}
<h2>Cups without strip</h2>
<p>${withoutStripInWords(result)}</p>
${remarks.length === 0 ? null : html`<h2>Remarks</h2>\n<ul>${remarks.map((each) => html`<li>${sentence(each)}</li>`)}</ul>`}
<p class="faint">A cup test shows what strips did to mites in cups. It is not the success of a treatment in a hive, and nothing here says how to treat: the product's label and a local adviser do.</p>`,
    foot: html`stillwarm ${origin.version}. ${origin.chains}`,
  });
}

const yardCount = ({ yards }: SeasonResult): string => {
  const count = new Set(yards.map(({ entry }) => entry.yard)).size;
  return count === 1 ? '1 yard' : `${count} yards`;
};
export const share = (value: number | null): string => (value === null ? '–' : unbroken(percent(value)));
/** Below this a share of yards from a fitted distribution is no figure to tell: nobody tests a hundred yards. */
const TINY = 0.01;
const ofYards = (value: number): string =>
  value < TINY ? 'under 1 %' : value > 1 - TINY ? 'over 99 %' : percent(value);
/** The share of yards below the line and its range. A fit that says 0 does not know it to be 0. */
export function belowInWords({ estimate, interval }: ShareBelow): string {
  const [told, lower, upper] = [estimate, ...interval].map(ofYards);
  return unbroken(
    told === lower && told === upper ? `${told}, by its range too` : `${told} (${lower} to ${upper})`,
  );
}
/** A number and its sign stay on one line. */
const unbroken = (text: string): string => text.replaceAll(' ', '\u00a0');
const range = (interval: Interval | null): string =>
  interval === null ? '–' : unbroken(`${percent(interval[0])} to ${percent(interval[1])}`);
const degrees = (value: number | null): string => (value === null ? '–' : `${value.toFixed(1)} °C`);

const short = (text: string): Html => html`<span class="short">${text}</span>`;

/** Yards from the lowest efficacy to the highest, those without one last. */
const lowestFirst = (yards: readonly YardOfSeason[]): YardOfSeason[] =>
  yards.toSorted((a, b) => (a.entry.efficacy ?? 2) - (b.entry.efficacy ?? 2));

const yardsTable = ({ yards, line, level }: SeasonResult): Html =>
  table<YardOfSeason>(
    'Yards and arms',
    [
      { head: 'Yard', cell: ({ entry }) => short(entry.yard) },
      { head: 'Arm', cell: ({ entry }) => entry.arm ?? '–' },
      { head: 'Efficacy', isNumber: true, cell: ({ entry }) => share(entry.efficacy) },
      { head: 'Range', cell: ({ entry }) => short(range(entry.interval)) },
      {
        head: 'Level',
        isNumber: true,
        cell: ({ entry }) =>
          entry.interval === null ? '–' : unbroken(levelInWords(levelOfEntry(entry, level))),
      },
      { head: 'Verdict', cell: ({ entry }) => short(verdictInWords(entry.verdict, line)) },
      { head: 'All read cups', isNumber: true, cell: ({ entry }) => share(entry.allCups.efficacy) },
      { head: 'Used / loaded', isNumber: true, cell: ({ flow }) => `${flow.used} / ${flow.loaded}` },
      { head: 'Mites', isNumber: true, cell: ({ entry }) => entry.tray + entry.wash },
    ],
    lowestFirst(yards),
  );

/** How sure the bars of a picture are: a yard that was looked at more than once has wider ones. */
function barsInWords(yards: readonly YardOfSeason[], level: number): string {
  const wider = yards.flatMap(({ entry: { yard, interval, looks } }) =>
    interval === null || looks === undefined
      ? []
      : [`${yard} of ${levelInWords(looks.level)} (one of ${looks.count} looks)`],
  );
  const others = `Bars are ranges of ${levelInWords(level)}`;
  return wider.length === 0
    ? `${others}.`
    : `${others}; those of these yards are wider: ${wider.join(', ')}.`;
}

/** The yards of one arm, then the middle of them and where the next one may lie. */
function armPicture(arm: SeasonEntry, { yards, line, level }: SeasonResult): Html {
  const told = (estimate: number | null, interval: Interval | null) =>
    estimate === null ? 'not known' : `${share(estimate)} (${range(interval)})`;
  const ofArm = lowestFirst(yards.filter(({ entry }) => entry.arm === arm.arm));
  const bars = barsInWords(ofArm, level);
  const rows = [
    ...ofArm.map(({ entry }) => ({
      label: entry.yard,
      estimate: entry.efficacy,
      interval: entry.interval,
      remark: told(entry.efficacy, entry.interval),
    })),
    {
      label: 'middle yard, see below',
      estimate: arm.efficacyOfMiddleYard,
      interval: arm.intervalOfMiddleYard,
      remark: told(arm.efficacyOfMiddleYard, arm.intervalOfMiddleYard),
    },
    {
      label: 'one further yard',
      estimate: null,
      interval: arm.predictionForNextYard,
      remark: arm.predictionForNextYard === null ? 'not known' : range(arm.predictionForNextYard),
    },
  ];
  const picture = rangeChart({
    rows,
    line,
    lineLabel: `${percent(line)} line`,
    axisLabel: 'efficacy: of 100 mites, so many fell',
    alt: `${bars} ${rows.map((row) => `${row.label}: ${row.remark}.`).join(' ')}`,
    tick: String,
  });
  return html`<figure class="wide">${picture}</figure>
<p class="faint">${bars}</p>`;
}

function armPart(arm: SeasonEntry, result: SeasonResult): Html {
  const { shareOfYardsBelowLine: below, misleadingCounts: counts } = arm;
  return html`<h2>${arm.arm ?? 'All strips'}: ${arm.yards} ${arm.yards === 1 ? 'yard' : 'yards'} taken together</h2>
${armPicture(arm, result)}
<ul>
<li>Middle yard: ${share(arm.efficacyOfMiddleYard)} (${range(arm.intervalOfMiddleYard)}). As many yards lie above as below it; it says nothing about any one yard.</li>
<li>One further yard: ${arm.predictionForNextYard === null ? 'cannot be said from fewer than three yards' : range(arm.predictionForNextYard)}.</li>
<li>Spread between yards (tau, on the logit scale): ${arm.sdBetweenYards === null ? 'not known' : `${arm.sdBetweenYards.toFixed(2)} (${arm.sdBetweenYardsInterval!.map((end) => end.toFixed(2)).join(' to ')})`}.</li>
<li>Share of yards below the ${percent(result.line)} line, from the fitted distribution: ${below === null ? 'cannot be said from fewer than three yards' : belowInWords(below)}.</li>
<li class="faint">Counts that mislead, for comparison: ${counts.yardsWithVerdictBelowLine} of ${counts.ofYards} yards have a verdict below the line (this misses failing yards that are undecided), ${counts.yardsWithEstimateBelowLine} an estimate below it (this takes luck for failure).</li>
${arm.leftOut.map(({ yard, why }) => html`<li>Left out: ${yard}, because ${why}.</li>\n`)}${arm.remarks.map((each) => html`<li>${sentence(each)}</li>\n`)}</ul>`;
}

const sentence = (text: string): string => `${text[0]!.toUpperCase()}${text.slice(1)}.`;

/** The statement that belongs beside every share of yards. */
export const chosenInWords = (chosen: string | null): string =>
  chosen === null
    ? 'Nobody said how the yards were chosen. Yards that were tested because mites had survived a treatment, or because they were near, are no sample of all yards: the share is one of yards like these.'
    : `By the word of whoever made this page: ${chosen}. The share is one of yards chosen like that.`;

const ROWS: readonly (readonly [string, (flow: CupFlow) => number | string])[] = [
  ['planned, those without strip included', ({ planned }) => planned ?? 'not declared'],
  ['loaded', ({ loaded }) => loaded],
  ['replaced', ({ replaced }) => replaced],
  ['ruled out: cold', ({ ruledOut }) => ruledOut.cold],
  ['ruled out: hot', ({ ruledOut }) => ruledOut.hot],
  ['ruled out: short', ({ ruledOut }) => ruledOut.short],
  ['ruled out: long', ({ ruledOut }) => ruledOut.long],
  ['ruled out: unproven', ({ ruledOut }) => ruledOut.unproven],
  ['ruled out: spoiled', ({ ruledOut }) => ruledOut.spoiled],
  ['not read', ({ unread }) => unread],
  ['without mites', ({ miteFree }) => miteFree],
  ['used', ({ used }) => used],
];

/** The flow of the strip cups, in words and numbers; each cup stands at one step after `loaded`. */
export const flowRows = (flow: CupFlow): (readonly [string, number | string])[] =>
  ROWS.map(([name, of]) => [name, of(flow)] as const);

/** The steps at which any cup was side by side, the others in a sentence: no season takes a second sheet to say 0. */
function flowTable({ flow }: SeasonResult): Html {
  const steps = flowRows(flow);
  const isTold = ([name, count]: (typeof steps)[number]) => count !== 0 || name === 'used';
  const none = steps.filter((step) => !isTold(step)).map(([name]) => name.replace(': ', ' '));
  return html`${table(
    'Flow of strip cups',
    steps.filter(isTold).map(([name, count]) => ({ head: name, isNumber: true, cell: () => count })),
    [flow],
  )}${none.length === 0 ? null : html`<p>No strip cup was: ${none.join(', ')}.</p>\n`}`;
}

const lostPart = ({ lost }: SeasonResult): Html =>
  lost.length === 0
    ? html`<p>No strip cup was lost.</p>`
    : table(
        'Lost cups by reason and temperature',
        [
          { head: 'Lost', cell: ({ why }) => why },
          { head: 'Cups', isNumber: true, cell: ({ cups }) => cups },
          { head: 'Lowest reading', isNumber: true, cell: ({ minCelsius }) => degrees(minCelsius) },
          {
            head: 'Middle one of their means',
            isNumber: true,
            cell: (each) => degrees(each.medianMeanCelsius),
          },
          { head: 'Highest reading', isNumber: true, cell: ({ maxCelsius }) => degrees(maxCelsius) },
        ],
        lost,
      );

const operatorsPart = (result: SeasonResult, withPeople: boolean): Html => {
  const leftOut = namesLeftOut(result);
  return html`${table(
    'Strip cups by who loaded them',
    [
      { head: 'Loaded by', cell: (each) => operatorName(each, each.number, withPeople) },
      { head: 'Loaded', isNumber: true, cell: ({ loaded }) => loaded },
      { head: 'Lost', isNumber: true, cell: ({ lost }) => lost },
      { head: 'Not read', isNumber: true, cell: ({ unread }) => unread },
    ],
    result.operators.map((each, index) => ({ ...each, number: index + 1 })),
  )}${leftOut === null ? null : html`<p>${leftOut}</p>\n`}`;
};

const UNNAMED: Readonly<Record<NonNullable<Operator['unnamed']>, string>> = {
  'none-given': 'no name on record',
  withdrawn: `${A_NAME} ${MISSING_IN_WORDS.withdrawn}`,
  'left-out': `names ${MISSING_IN_WORDS['left-out']}`,
};

/** Names are people's data: told only when asked for. */
export const operatorName = (
  { name, unnamed }: Pick<Operator, 'name' | 'unnamed'>,
  number: number,
  withPeople: boolean,
): string => (unnamed !== null ? UNNAMED[unnamed] : withPeople ? name! : `person ${number}`);

/** Whose losses they are cannot be told of cups whose names are left out; null when there are none. */
export function namesLeftOut({ operators }: SeasonResult): string | null {
  const cups = operators.find(({ unnamed }) => unnamed === 'left-out')?.loaded;
  return cups === undefined
    ? null
    : `Who loaded ${cups} of these cups is not told: their bundles were written without people's data. Losses by who loaded them need bundles written with --with-people.`;
}

function lotsPart({ lots }: SeasonResult): Html {
  if (lots.length === 0) return html`<p>No lot was recorded.</p>`;
  const suspicions = lots.flatMap(({ suspicion }) => suspicion ?? []);
  return html`${table(
    'Strip lots',
    [
      { head: 'Lot', cell: ({ active, lot }) => (active === null ? lot : `${lot} (${active})`) },
      { head: 'Yards', isNumber: true, cell: ({ yards }) => yards },
      { head: 'Estimate below the line', isNumber: true, cell: ({ yardsBelow }) => yardsBelow },
      { head: 'Verdict below the line', isNumber: true, cell: (each) => each.yardsDecidedBelow },
      { head: 'Loaded', isNumber: true, cell: ({ loaded }) => loaded },
      { head: 'Lost', isNumber: true, cell: ({ lost }) => lost },
    ],
    lots,
  )}${suspicions.map((each) => html`<p class="note">${sentence(each)}</p>\n`)}`;
}

/** What fell without a strip, over all yards. */
export function withoutStripInWords({ withoutStrip: found }: SeasonResult): string {
  if (found === null) return 'None was valid and read: what falls without a strip is not known.';
  const { cups, yards, tray, mites, fall, interval } = found;
  if (fall === null) return `${cups} in ${yards} ${yards === 1 ? 'yard' : 'yards'}, without a mite.`;
  return `${cups} in ${yards} ${yards === 1 ? 'yard' : 'yards'}: ${tray} of ${mites} mites fell without a strip, ${percent(fall)} (${interval === null ? 'from one yard, so without a range' : range(interval)}).`;
}
