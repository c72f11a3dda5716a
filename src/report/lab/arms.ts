import {
  correctForRecovery,
  levelInWords,
  levelOfEntry,
  percent,
  recoveryShare,
  verdictInWords,
  type YardEntry,
} from '../../../shared/index.js';
import { correctedCounts } from '../../visit/changedByPeople.js';
import type { Cup } from '../../visit/cup.js';
import { armOf, efficacyOf } from '../../visit/result.js';
import { type Html, html, type Part } from '../html.js';
import { type RangeRow, rangeChart } from '../rangeChart.js';
import { table } from '../table.js';
import type { Material } from './material.js';
import { DASH, figure, interval, plural, share } from './tell.js';

/** One way of looking at an arm: raw, with what was ruled out, corrected. */
interface View extends Pick<RangeRow, 'estimate' | 'interval'> {
  readonly name: string;
  readonly said: string;
}

/** What each arm came to: raw and corrected side by side, with and without what was ruled out. */
export function arms(material: Material): Html {
  const { result } = material;
  const { yards } = result.efficacy;
  return html`<h2>What each arm came to</h2>
<p>Two-sided intervals, clustered by colony unless said; the level stands above each column. Raw: not corrected for survivors that the wash missed, nor for mites that would have fallen without a strip; both make the product look better than it is. A corrected figure stands beside the raw one, never instead.</p>
${yards.length === 0 ? html`<p>No cup yet.</p>` : yards.map((entry) => arm(material, entry))}${differences(material)}`;
}

function arm(material: Material, entry: YardEntry): Html {
  const { rules, result } = material;
  const level = levelOfEntry(entry, result.efficacy.level);
  const name =
    entry.arm ?? (entry.cups.valid + entry.cups.excluded === 0 ? 'cups without strip' : 'no arm named');
  const views = viewsOf(material, entry);
  const again = washedAgain(material, entry);
  const chart = rangeChart({
    rows: views.map(({ name, estimate, interval }) => ({
      label: name,
      estimate,
      interval,
      remark: share(estimate),
    })),
    line: rules.line,
    lineLabel: `${percent(rules.line)} line`,
    axisLabel: `efficacy, %; bars are ${levelInWords(level)} intervals`,
    alt: views
      .map(({ name, estimate, interval: limits }) => `${name}: ${share(estimate)}, ${interval(limits)}`)
      .join('. '),
    tick: (value) => String(value),
  });
  return html`<h3>Arm ${name}: ${verdictInWords(entry.verdict, rules.line)}</h3>
<figure class="wide">${chart}${again === null ? null : html`<figcaption>Raw holds the ${plural(again.later, 'mite', 'mites')} that later washes of ${plural(again.cups, 'cup', 'cups')} found, too.</figcaption>`}</figure>
${table<View>(
  `Efficacy, arm ${name}, intervals of ${levelInWords(level)}`,
  [
    { head: 'figure', cell: (view) => view.name },
    { head: 'efficacy', isNumber: true, cell: (view) => share(view.estimate) },
    { head: `${levelInWords(level)} interval`, isNumber: true, cell: (view) => interval(view.interval) },
    { head: 'what it rests on', cell: (view) => view.said },
  ],
  views,
)}${facts(entry, result.efficacy.level)}${
  entry.remarks.length === 0
    ? null
    : html`<ul>${entry.remarks.map((remark) => html`<li>remark: ${remark}</li>`)}</ul>`
}`;
}

function viewsOf(material: Material, entry: YardEntry): View[] {
  const { result, rules } = material;
  const { line } = rules;
  const ofArm = stripCupsOf(material, entry);
  const byRules = result.withoutOverrules?.yards.find(({ arm }) => arm === entry.arm);
  const { valid, unread, empty } = entry.cups;
  const used = valid - unread - empty;
  const views: View[] = [
    {
      name: 'raw, cups that count',
      estimate: entry.efficacy,
      interval: entry.interval,
      said: `${plural(used, 'cup', 'cups')}, ${entry.tray} on trays, ${entry.wash} washed off: ${verdictInWords(entry.verdict, line)}`,
    },
    {
      name: 'raw, ruled out as well',
      estimate: entry.allCups.efficacy,
      interval: entry.allCups.interval,
      said: `every read cup but spoiled: ${verdictInWords(entry.allCups.verdict, line)}`,
    },
  ];
  if (byRules !== undefined)
    views.push({
      name: 'raw, without overrules',
      estimate: byRules.efficacy,
      interval: byRules.interval,
      said: `no ruling changed by people: ${verdictInWords(byRules.verdict, line)}`,
    });
  const corrected = ofArm.reduce((sum, cup) => sum + correctedCounts(cup), 0);
  const [uncorrected, unchanged] = [result.asFirstEntered, result.unchanged].map((report) =>
    report?.yards.find(({ arm }) => arm === entry.arm),
  );
  if (corrected > 0 && uncorrected !== undefined)
    views.push({
      name: 'raw, counts as first entered',
      estimate: uncorrected.efficacy,
      interval: uncorrected.interval,
      said: `${plural(corrected, 'count', 'counts')} of mites corrected or withdrawn since; ${uncorrected.tray} on trays, ${uncorrected.wash} washed off: ${verdictInWords(uncorrected.verdict, line)}`,
    });
  if (corrected > 0 && unchanged !== undefined)
    views.push({
      name: 'raw, without either',
      estimate: unchanged.efficacy,
      interval: unchanged.interval,
      said: `no ruling changed by people, counts as first entered: ${verdictInWords(unchanged.verdict, line)}`,
    });
  if (entry.control !== null) {
    const { control } = entry;
    views.push({
      name: 'corrected, natural fall',
      estimate: control.efficacyCorrected,
      interval: control.interval,
      said: `${plural(control.cups, 'cup', 'cups')} without strip, ${control.tray} of ${control.tray + control.wash} mites fell (${share(control.fall)}, ${interval(control.fallInterval)}); every mite taken as independent`,
    });
  }
  return [...views, ...recovered(material, levelOfEntry(entry, result.efficacy.level), entry)];
}

const stripCupsOf = ({ cups }: Material, { arm }: YardEntry): Cup[] =>
  cups.map(({ cup }) => cup).filter((cup) => cup.kind === 'strip' && armOf(cup) === arm);

/** The strip cups of an arm that were washed more than once, and what their washes found; null when there are none. */
function washedAgain(material: Material, entry: YardEntry) {
  const again = stripCupsOf(material, entry).filter(({ washes }) => washes.length > 1);
  if (again.length === 0) return null;
  const first = again.reduce((sum, { washes }) => sum + washes[0]!, 0);
  const all = again.reduce((sum, { counts }) => sum + counts.wash!, 0);
  return { cups: again.length, first, later: all - first };
}

/**
 * The correction for survivors that the wash missed, when bees of this arm were washed again. The share that a first wash
 * finds holds for first washes only, so later ones are left out of what it divides.
 */
function recovered(material: Material, level: number, entry: YardEntry): View[] {
  const again = washedAgain(material, entry);
  if (again === null || again.first === 0) return [];
  const firstOf = new Map(material.cups.map(({ cup }) => [cup.cup as string, cup.washes[0] ?? null]));
  const counts = material.result.counted.map((count) => ({ ...count, wash: firstOf.get(count.cup) ?? null }));
  const { yards } = efficacyOf(material.season, [material.visit], counts);
  const byFirst = yards.find(({ arm }) => arm === entry.arm)!;
  const { q, interval: limits } = recoveryShare({ first: again.first, second: again.later }, level);
  const { efficacyCorrected, interval: corrected } = correctForRecovery(
    byFirst.efficacy,
    byFirst.interval,
    q,
    limits,
  );
  return [
    {
      name: 'corrected, missed survivors',
      estimate: efficacyCorrected,
      interval: corrected,
      said: `a first wash finds ${share(q)} (${interval(limits)}): ${again.first} in first and ${again.later} in later washes of ${plural(again.cups, 'cup', 'cups')}; first washes alone, ${byFirst.tray} on trays and ${byFirst.wash} washed off, divided by it`,
    },
  ];
}

function facts(entry: YardEntry, reportLevel: number): Html {
  const level = levelInWords(levelOfEntry(entry, reportLevel));
  const { cups, betaBinomial, byGroup, infestation, moreCups } = entry;
  const per100 =
    infestation.per100 === null
      ? 'not known'
      : `${infestation.per100.toFixed(2)}${infestation.interval === null ? '' : ` (${levelInWords(reportLevel)} interval ${infestation.interval.map((limit) => limit.toFixed(2)).join(' to ')})`}`;
  const rows: (readonly [string, Part])[] = [
    [
      'strip cups',
      `${cups.valid} valid (of them ${cups.unread} not read, ${cups.empty} without mites), ${cups.excluded} ruled out`,
    ],
    [
      'design effect; effective mites',
      `${figure(entry.designEffect, 2)}; ${figure(entry.effectiveMites, 1)}`,
    ],
    [`${level} interval if every mite were independent`, interval(entry.naiveInterval)],
    ['mean of cups, for comparison', share(entry.meanOfCups)],
    [
      'beta-binomial, check model',
      betaBinomial === null ? DASH : `mu ${share(betaBinomial.mu)}, rho ${figure(betaBinomial.rho, 3)}`,
    ],
    [
      'clustered by mother line',
      byGroup === null
        ? DASH
        : `${byGroup.k} ${byGroup.k === 1 ? 'line' : 'lines'}${byGroup.interval === null ? '' : `, ${level} interval ${interval(byGroup.interval)}`}, design effect ${figure(byGroup.designEffect, 2)}`,
    ],
    [
      'further cups that would decide, chance 80 %',
      moreCups === null ? 'no number up to 100' : String(moreCups),
    ],
    ['mites per 100 bees', per100],
  ];
  return table(
    'Further figures',
    [
      { head: 'figure', cell: ([name]: (typeof rows)[number]) => name },
      { head: 'value', cell: ([, value]: (typeof rows)[number]) => value },
    ],
    rows,
  );
}

function differences({ result }: Material): Html | null {
  const pairs = result.efficacy.armDifferences ?? [];
  const [first] = result.efficacy.yards;
  if (pairs.length === 0 || first === undefined) return null;
  // A report is about one yard: its arms share the looks.
  const level = levelInWords(levelOfEntry(first, result.efficacy.level));
  const points = (value: number | null | undefined) =>
    value === null || value === undefined ? DASH : (value * 100).toFixed(1);
  return html`<h3>Arms compared within the colonies that have cups in both</h3>
${table<(typeof pairs)[number]>(
  'Arms compared',
  [
    { head: 'first', cell: ({ arms }) => arms[0] ?? 'no arm named' },
    { head: 'second', cell: ({ arms }) => arms[1] ?? 'no arm named' },
    { head: 'colonies', isNumber: true, cell: ({ pairedColonies }) => pairedColonies },
    { head: 'difference, points', isNumber: true, cell: ({ difference }) => points(difference) },
    {
      head: `${level} interval`,
      isNumber: true,
      cell: ({ interval }) => (interval === null ? DASH : `${points(interval[0])} to ${points(interval[1])}`),
    },
    { head: 'remarks', cell: ({ remarks }) => remarks.join('; ') },
  ],
  pairs,
)}`;
}
