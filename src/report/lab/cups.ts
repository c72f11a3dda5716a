import { type CupEntry, levelInWords } from '../../../shared/index.js';
import { kineticMeanOf } from '../../exposure/kineticMean.js';
import { isCount } from '../../visit/countWithdrawal.js';
import { entryText } from '../../visit/cupHistory.js';
import { A_NAME, A_REASON } from '../../visit/keptWords.js';
import { type Html, html } from '../html.js';
import { table } from '../table.js';
import type { CupMaterial, Material } from './material.js';
import { bounds, count, DASH, figure, interval, minutesTold, share } from './tell.js';

type Judged = CupMaterial & { readonly ruling: NonNullable<CupMaterial['ruling']> };

const label = (text: string): Html => html`<span class="short">${text}</span>`;

/** How each cup was judged: its figures against the limits, then every reason and remark. */
export function rulings({ cups, rules, observationsOf, text }: Material): Html {
  const judged = cups.filter((each): each is Judged => each.ruling !== null);
  const { coldTotalMinutes: total, coldSpellMinutes: spell, hotSpellMinutes: hot } = rules;
  const degrees = (value: number | null) => figure(value, 1);
  const uncertainties = ({ exposure }: Judged) =>
    [...new Set(exposure.seatings.map(({ uncertainty }) => uncertainty.toFixed(3)))].join(', ') || DASH;
  const figures = table<Judged>(
    'Rulings',
    [
      { head: 'cup', cell: ({ cup }) => label(cup.cup) },
      {
        head: 'ruling',
        cell: ({ cup, ruling }) =>
          html`<b class="short">${ruling.ruling}</b>${cup.overruled === null ? null : html`; <span class="short">overruled: <b>${cup.overruled.ruling}</b></span>`}`,
      },
      {
        head: 'exposed min',
        isNumber: true,
        cell: ({ ruling }) =>
          minutesTold(ruling.exposureMinutes, [rules.exposureMinutesMin, rules.exposureMinutesMax]),
      },
      { head: 'observed min', isNumber: true, cell: ({ ruling }) => minutesTold(ruling.observedMinutes) },
      {
        head: `cold min in total (${total} allowed)`,
        isNumber: true,
        cell: ({ ruling }) => bounds(ruling.coldMinutes, total),
      },
      {
        head: `longest cold spell (${spell})`,
        isNumber: true,
        cell: ({ ruling }) => bounds(ruling.longestColdSpellMinutes, spell),
      },
      {
        head: `longest hot spell (${hot})`,
        isNumber: true,
        cell: ({ ruling }) => bounds(ruling.longestHotSpellMinutes, hot),
      },
      { head: 'min °C', isNumber: true, cell: ({ ruling }) => degrees(ruling.minCelsius) },
      { head: 'mean °C', isNumber: true, cell: ({ ruling }) => degrees(ruling.meanCelsius) },
      {
        head: 'kinetic mean °C',
        isNumber: true,
        cell: ({ exposure }) => degrees(kineticMeanOf(exposure, observationsOf, rules)),
      },
      { head: 'max °C', isNumber: true, cell: ({ ruling }) => degrees(ruling.maxCelsius) },
      {
        head: '°C min below threshold',
        isNumber: true,
        cell: ({ ruling }) => figure(ruling.degreeMinutesBelow, 0),
      },
      { head: 'U °C', isNumber: true, cell: uncertainties },
    ],
    judged,
  );
  const said = judged.filter(
    ({ cup, ruling }) => ruling.reasons.length + ruling.remarks.length + cup.notes.length > 0,
  );
  return html`<h2>How each cup was judged</h2>
<p>By temperatures and times alone. Minutes are at least – at most: what is certain given U (k = 2), and what is possible, time without a reading included.</p>
${figures}<h3>Reasons and remarks</h3>
${
  said.length === 0
    ? html`<p>None: every cup is valid, and nothing was entered late, corrected or overruled.</p>`
    : html`<ul>
${said.map(({ cup, ruling }) => [
  ruling.reasons.map((reason) => html`<li><b>${cup.cup}</b> ${reason}</li>\n`),
  ruling.remarks.map((remark) => html`<li><b>${cup.cup}</b> remark: ${remark}</li>\n`),
  cup.notes.map((note) => html`<li><b>${cup.cup}</b> note: ${text(note.text, '', '')}</li>\n`),
])}</ul>`
}`;
}

/** What was counted in each cup, and every count that was corrected; what each cup says by itself when none is awaited. */
export function counts({ cups, result, text, when, awaited, names }: Material): Html {
  const told = new Map<string, CupEntry>(result.efficacy.cups.map((entry) => [entry.cup, entry]));
  const entry = ({ cup }: CupMaterial) => told.get(cup.cup)!;
  const counted = table<CupMaterial>(
    'Counts',
    [
      { head: 'cup', cell: ({ cup }) => label(cup.cup) },
      { head: 'colony', cell: ({ cup }) => cup.colony ?? DASH },
      { head: 'mother line', cell: ({ cup }) => cup.group ?? DASH },
      {
        head: 'strip, lot',
        cell: ({ cup }) =>
          cup.kind === 'no-strip'
            ? 'without strip'
            : [cup.active, cup.lot].filter((part) => part !== null).join(', ') || DASH,
      },
      { head: 'tray', isNumber: true, cell: ({ cup }) => count(cup.counts.tray) },
      {
        head: 'wash',
        isNumber: true,
        cell: ({ cup }) => (cup.washes.length > 1 ? cup.washes.join(' + ') : count(cup.counts.wash)),
      },
      {
        head: 'bees',
        isNumber: true,
        cell: ({ cup }) =>
          `${count(cup.counts.bees)}${cup.bees === null || cup.bees.how === 'counted' ? '' : ` (${cup.bees.how}, CV ${cup.bees.cv})`}`,
      },
      { head: 'dead bees', cell: ({ cup }) => cup.dead ?? DASH },
      ...(awaited.length > 0
        ? []
        : [
            {
              head: 'mites per 100 bees',
              isNumber: true,
              cell: (row: CupMaterial) => figure(entry(row).per100, 1),
            },
          ]),
    ],
    cups,
  );
  const alone = table<CupMaterial>(
    'Efficacy of each cup by itself',
    [
      { head: 'cup', cell: ({ cup }) => label(cup.cup) },
      { head: 'efficacy', isNumber: true, cell: (row) => share(entry(row).efficacy) },
      { head: 'Wilson', isNumber: true, cell: (row) => interval(entry(row).wilson) },
      { head: 'Clopper-Pearson', isNumber: true, cell: (row) => interval(entry(row).clopperPearson) },
      { head: 'Jeffreys', isNumber: true, cell: (row) => interval(entry(row).jeffreys) },
    ],
    cups.filter((row) => entry(row).efficacy !== null),
  );
  const corrected = cups.flatMap(({ cup }) =>
    cup.entries.flatMap(({ fact }) => (fact.type === 'count-corrected' ? [{ cup, fact }] : [])),
  );
  const withdrawn = cups.flatMap(({ cup }) =>
    cup.changes.flatMap((change) =>
      change.field === null && isCount(change.entry) ? [{ cup, change }] : [],
    ),
  );
  return html`<h2>What was counted</h2>
${counted}${
  corrected.length + withdrawn.length === 0
    ? html`<p>No count was corrected or withdrawn.</p>`
    : html`<h3>Counts that were corrected or withdrawn</h3>
<ul>
${corrected.map(
  ({ cup, fact }) =>
    html`<li><b>${cup.cup}</b> ${fact.field}${fact.washNumber === undefined ? null : ` ${fact.washNumber}`} from ${fact.old} to ${fact.new}, by ${text(fact.who, 'a person', A_NAME)} at ${when(fact.at)}: ${text(fact.why, '', A_REASON)}</li>\n`,
)}${withdrawn.map(
  ({ cup, change }) =>
    html`<li><b>${cup.cup}</b> withdrawn (${entryText(change.entry, names)}), by ${text(change.who, 'a person', A_NAME)} at ${when(change.at)}: ${text(change.why, '', A_REASON)}</li>\n`,
)}</ul>`
}${
  awaited.length > 0
    ? null
    : html`
<h3>Efficacy of each cup by itself</h3>
<p>For comparison only: a few mites say little. Intervals of ${levelInWords(result.efficacy.level)}.</p>
${alone}`
}`;
}
