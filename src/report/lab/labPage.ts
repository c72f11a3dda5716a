import { levelInWords, levelOfEntry, verdictInWords, type YardEntry } from '../../../shared/index.js';
import type { Cup } from '../../visit/cup.js';
import { stillToCount } from '../../visit/stillToCount.js';
import { type Html, html } from '../html.js';
import { page } from '../page.js';
import { arms } from './arms.js';
import { bench } from './bench.js';
import { counts, rulings } from './cups.js';
import type { Material } from './material.js';
import { clockEvents, gaps, versions } from './record.js';
import { sweep } from './sweep.js';
import { interval, plural, share } from './tell.js';
import { traces } from './traces.js';

/** The whole of a visit for the lab: first what the cups went through and the answer, then all that it rests on. */
export function labPage(material: Material): string {
  const { visit, chains, version, when, now } = material;
  const { store, count, hash } = chains[0]!;
  return page({
    language: 'en',
    title: `Visit ${visit.visit}, yard ${visit.yard}: lab report`,
    isDense: true,
    body: html`<h1>Visit ${visit.visit}, yard ${visit.yard}: lab report</h1>
${material.awaited.length > 0 ? blind(material) : whole(material)}
${versions(material)}
<p>${CAUTIONS}</p>`,
    foot: `Made ${when(now)} by stillwarm ${version}. Store ${store}: ${count} facts, head ${hash}.`,
  });
}

const whole = (material: Material): Html => html`<p>${inOneSentence(material)}</p>
${notCounted(material)}${traces(material)}
${rulings(material)}
${counts(material)}
${arms(material)}
${sweep(material)}
${bench(material)}
${gaps(material)}
${clockEvents(material)}`;

/** Until all is counted: nothing that may move whoever counts. */
const blind = (
  material: Material,
): Html => html`<div class="note"><p>Not finished: ${openCups(material.awaited)}. Whoever counts must not know what is said of a cup. So this page has no temperatures, no rulings, no gaps and no efficacy yet. When no further count will come, or for somebody who does not count, make it with --final.</p></div>
${counts(material)}
${bench(material)}`;

const openCups = (open: readonly Cup[]): string =>
  `${plural(open.length, 'cup is', 'cups are')} not fully counted (${open.map(({ cup }) => cup).join(', ')})`;

const CAUTIONS =
  "A cup is a test, not a treatment, and no measure of what a treatment does in the hive. Follow the product's label and local rules, and ask a licensed adviser before treating.";

function inOneSentence({ visit, result, cups }: Material): string {
  const { yards } = result.efficacy;
  const entries = yards.filter(({ cups: { valid, excluded } }) => valid + excluded > 0);
  const strip = cups.filter(({ cup }) => cup.kind === 'strip').length;
  if (entries.length === 0) return `${plural(strip, 'cup', 'cups')} with a strip so far, and so no efficacy.`;
  const { line } = visit.rules;
  const { level } = result.efficacy;
  const overruled = cups.filter(({ cup }) => cup.overruled !== null).length;
  const byPeople =
    overruled === 0
      ? ''
      : ` ${plural(overruled, 'cup counts', 'cups count')} as a person overruled, see below.`;
  return `${entries.map((entry) => ofArm(entry, line, level, entries.length > 1)).join(' ')}${byPeople}`;
}

function ofArm(entry: YardEntry, line: number, reportLevel: number, isNamed: boolean): string {
  const { valid, excluded, unread, empty } = entry.cups;
  const used = valid - unread - empty;
  const arm = isNamed ? `Arm ${entry.arm ?? 'without a name'}: ` : '';
  const out = excluded === 0 ? '' : `, ${excluded} ruled out`;
  const figure =
    entry.efficacy === null
      ? 'no efficacy is known'
      : `pooled raw efficacy ${share(entry.efficacy)}${entry.interval === null ? '' : ` (${levelInWords(levelOfEntry(entry, reportLevel))} interval ${interval(entry.interval)})`}`;
  return `${arm}${used} of ${plural(valid + excluded, 'strip cup', 'strip cups')} used${out}: ${figure}, ${verdictInWords(entry.verdict, line)}.`;
}

/** Whoever counts must not have seen this. */
function notCounted({ cups }: Material): Html | null {
  const open = stillToCount(cups.map(({ cup }) => cup));
  if (open.length === 0) return null;
  return html`<div class="note"><p>Made although ${openCups(open)}. Whoever still counts must not read it: it tells rulings.</p></div>
`;
}
