import type { ReadyCup } from '../../plan/planned.js';
import { between, inMinutes, type UtcMs } from '../../units/time.js';
import { dayIn, timeIn } from '../../units/zone.js';
import { CAUTIONS } from '../../visit/cautions.js';
import { type Html, html } from '../html.js';
import { page } from '../page.js';

/**
 * The sheet that the crew takes along, one a yard, to write on. Trays and washes stand apart, to be cut: whoever washes must
 * not know what fell, as on the screen. No temperature and no ruling has a place on it.
 */

/** A sheet holds so many cups; a yard with more has several. */
const ROWS_MAX = 12;
/** Rows for cups that take another's place. */
const SPARE_ROWS = 2;

export function fieldSheets(cups: readonly ReadyCup[], plan: string): string {
  const visits = [...new Set(cups.map(({ visit }) => visit))];
  const sheets = visits.flatMap((visit) => {
    const own = cups.filter((cup) => cup.visit === visit);
    const parts = Math.ceil(own.length / ROWS_MAX);
    const rows = Math.ceil(own.length / parts);
    return Array.from({ length: parts }, (_, part) => ({
      cups: own.slice(part * rows, (part + 1) * rows),
      all: own,
      part: part + 1,
      parts,
    }));
  });
  return page({
    language: 'en',
    title: `Field sheets: ${[...new Set(cups.map(({ yard }) => yard))].join(', ')}`,
    style: STYLE,
    body: html`${sheets.map((each) => sheetOf(each, plan))}`,
  });
}

interface Sheet {
  readonly cups: readonly ReadyCup[];
  readonly all: readonly ReadyCup[];
  readonly part: number;
  readonly parts: number;
}

function sheetOf({ cups, all, part, parts }: Sheet, plan: string): Html {
  const { visit, yard, zone, load, rules } = all[0]!;
  const of = parts === 1 ? '' : `, sheet ${part} of ${parts}`;
  const day = dayIn(load, zone);
  return html`<section class="sheet">
<h1>Yard ${yard}${of}</h1>
<p class="head"><b>${day}</b> ${zone} · visit <b>${visit}</b> · ${carriersOf(all)} · ${armsText(all)} · rule set ${rules}</p>
<p class="head blanks">Crew <i></i> Watch shows <i class="short"></i> when the screen or a telephone shows <i class="short"></i></p>
<p class="caution">${CAUTIONS.visit}</p>
<div class="scroll whole"><table class="field${roomOf(cups.length)}" aria-label="cups at the yard">
<colgroup>${COLUMNS_MM.map((width) => html`<col style="width:${width}mm">`)}<col></colgroup>
<thead><tr><th>slot</th><th>label</th><th>colony</th><th>loaded at</th><th>turn between<br><small>planned; as loaded</small></th><th>turned at</th><th>tray</th><th>lost, remark<br><small>not how warm</small></th></tr></thead>
<tbody>
${cups.map((cup) => rowOf(cup, tellApart(all)(cup)))}${part === parts ? Array.from({ length: SPARE_ROWS }, () => SPARE) : null}</tbody>
</table></div>
${stepsOf(all, plan)}
<p class="cut">cut here before the wash: whoever washes should not know the trays</p>
<h2>Wash: yard ${yard}, visit ${visit}${of} <span class="blanks">Washed by <i class="short"></i> on <i class="short"></i></span></h2>
<p class="caution">${CAUTIONS.wash}</p>
<div class="scroll whole"><table class="field${cups.length > ROOMIER_MAX ? '' : ' roomy'}" aria-label="washes">
<thead><tr><th>label</th><th>wash</th><th>second wash</th><th>bees</th><th>remark</th><th>label</th><th>wash</th><th>second wash</th><th>bees</th><th>remark</th></tr></thead>
<tbody>
${washRows(cups, part === parts ? SPARE_ROWS : 0)}</tbody>
</table></div>
<ul class="steps">
<li><b>5 wash</b> the mites in the wash, <b>6 bees</b> the bees of the cup; a further wash is written beside the first. Not counted stays empty: that is "not read", never 0.</li>
</ul>
</section>
`;
}

/** Slot, label, colony, loaded at, turn between, turned at, tray; the remark takes the rest. */
const COLUMNS_MM = [13, 36, 31, 18, 31, 18, 15];

/** Rows are as high as a sheet with so many lets them be: they are written on standing, in gloves. */
const ROOMY_MAX = 9;
const ROOMIER_MAX = 7;
const roomOf = (cups: number): string => (cups > ROOMY_MAX ? '' : cups > ROOMIER_MAX ? ' roomy' : ' roomier');

const rowOf = (cup: ReadyCup, arm: string): Html => {
  const { carrier, slot, colony, kind, load, from, to, zone } = cup;
  const strip = kind === 'no-strip' ? 'no strip' : arm;
  return html`<tr><td><b>${carrier}:${slot}</b></td><td class="label">${cup.cup}</td><td>${colony ?? ''}${strip === '' ? null : html`${colony === null ? null : html`<br>`}<b>${strip}</b>`}</td><td class="time"><small>${timeIn(load, zone)}</small></td><td class="window"><small>${timeIn(from, zone)}–${timeIn(to, zone)}</small><span class="write">__:__ – __:__</span></td><td></td><td class="count"></td><td></td></tr>
`;
};

/** So many signs of an arm have room in a row. */
const ARM_SIGNS_MAX = 15;

/** What of a cup's arm is to be told in its row: only what is not the same in the whole yard; the number of the arm when that is long. */
function tellApart(cups: readonly ReadyCup[]): (cup: ReadyCup) => string {
  const arms = armsIn(cups);
  if (isNumbered(cups)) return (cup) => `arm ${arms.indexOf(armOf(cup)) + 1}`;
  return inFull(cups);
}

const isNumbered = (cups: readonly ReadyCup[]): boolean =>
  stripsOf(cups).some((cup) => inFull(cups)(cup).length > ARM_SIGNS_MAX);

const stripsOf = (cups: readonly ReadyCup[]): ReadyCup[] => cups.filter(({ kind }) => kind === 'strip');

function inFull(cups: readonly ReadyCup[]): (cup: ReadyCup) => string {
  const differs = (column: 'active' | 'lot') => new Set(stripsOf(cups).map((cup) => cup[column])).size > 1;
  const [actives, lots] = [differs('active'), differs('lot')];
  return ({ active, lot }) =>
    [actives ? (active ?? 'active not told') : '', lots ? `lot ${lot ?? 'not told'}` : '']
      .filter((part) => part !== '')
      .join(', ');
}

const SPARE: Html = html`<tr><td></td><td class="label"><small>spare, replaces:</small></td><td></td><td></td><td class="window"><span class="write">__:__ – __:__</span></td><td></td><td></td><td></td></tr>
`;

/** Two cups a row, so that the sheet is short enough. */
function washRows(cups: readonly ReadyCup[], spare: number): Html[] {
  const labels = [...cups.map(({ cup }): string => cup), ...Array.from({ length: spare }, () => '')];
  const half = Math.ceil(labels.length / 2);
  const cells = (label: string | undefined) =>
    html`<td class="label">${label ?? ''}</td><td class="count"></td><td class="count"></td><td class="count"></td><td></td>`;
  return Array.from(
    { length: half },
    (_, row) => html`<tr>${cells(labels[row])}${cells(labels[row + half])}</tr>
`,
  );
}

/** `2 h 55 min`, as people add it to a time of day. */
const hours = (minutes: number): string =>
  minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;

function stepsOf(cups: readonly ReadyCup[], plan: string): Html {
  const { load, from, to, visit } = cups[0]!;
  const exposed = (at: UtcMs) => Math.round(inMinutes(between(load, at)));
  const [least, most] = [exposed(from), exposed(to)];
  return html`<ul class="steps">
<li><b>1 load</b> The queen is found first and is in no cup. Strip by its label: gloves, forceps, each piece once; cups without strip first. Write when the bees meet the strip, then ${hours(least)} and ${hours(most)} later as "turn between". <b>2 seat</b> it in its slot at once, lid checked.</li>
<li><b>On the road</b> nobody turns, reads or writes while driving; the paper is for the passenger. Never a closed hot vehicle. A cup lost at once: <b>9 replace</b> it while still here, with a spare label; <b>10 spoil</b> one that must not count.</li>
<li><b>3 turn</b> Turn every cup between its times, ruled out or not, and <b>4 tray</b> read it then: mites on the tray. Not read stays empty: never 0.</li>
<li><b>To enter it</b>: <code>watch --plan ${plan}</code>, the numbers above, and at the last question the time on this sheet (as 9.40), how sure it is, and why it is late. Visit by <b>15 open</b>, ${visit}.</li>
</ul>`;
}

const carriersOf = (cups: readonly ReadyCup[]): string => {
  const names = [...new Set(cups.map(({ carrier }) => carrier))];
  return `${names.length === 1 ? 'carrier' : 'carriers'} ${names.join(', ')}`;
};

const armOf = ({ active, lot }: ReadyCup): string =>
  [active ?? 'active not told', ...(lot === null ? [] : [`lot ${lot}`])].join(', ');

const armsIn = (cups: readonly ReadyCup[]): string[] => [...new Set(stripsOf(cups).map(armOf))];

const armsText = (cups: readonly ReadyCup[]): string =>
  armsIn(cups)
    .map((arm, index) => (isNumbered(cups) ? `arm ${index + 1}: ${arm}` : arm))
    .join(' / ');

const STYLE = `
main { max-width: 190mm; }
body { color: #000; font-size: 9.5pt; line-height: 1.22; }
.sheet { break-after: page; } .sheet:last-of-type { break-after: auto; }
.sheet h1 { font-size: 17pt; margin: 0; } .sheet h2 { font-size: 12pt; margin: 0.5mm 0 0; }
.sheet p { margin: 0.7mm 0; } .sheet .scroll { margin: 0; } .head { font-size: 10pt; }
.blanks { font-weight: normal; font-size: 10pt; } .blanks i { display: inline-block; width: 45mm; border-bottom: 0.3mm solid #000; height: 5mm; } .blanks i.short { width: 22mm; }
.caution { font-size: 8pt; line-height: 1.15; border: 0.4mm solid #000; padding: 0.8mm 1.5mm; }
table.field { font-size: 9.5pt; } table.field th, table.field td { border: 0.3mm solid #000; padding: 0.4mm 1mm; vertical-align: middle; min-width: 0; background: #fff; overflow-wrap: anywhere; }
table.field th { font-size: 8.5pt; line-height: 1.05; } table.field td { height: 7.4mm; line-height: 1.1; }
table.field.roomy td { height: 9mm; } table.field.roomier td { height: 12mm; } table.field:not(.roomy, .roomier) td { padding-top: 0; padding-bottom: 0; line-height: 1; }
table[aria-label='cups at the yard'] { table-layout: fixed; width: 100%; }
td.label { font-size: 9pt; font-weight: bold; } td.label small { font-weight: normal; }
td.count { min-width: 11mm; } td.time { vertical-align: top !important; } td.window { white-space: nowrap; } td.window small, .write { display: block; } .write { letter-spacing: 0.02em; }
table.field td:last-child { min-width: 22mm; }
small { font-size: 8pt; font-weight: normal; }
ul.steps { margin: 1mm 0; padding-left: 4mm; font-size: 8.5pt; line-height: 1.18; } ul.steps li { margin: 0 0 0.5mm; }
p.cut { border-top: 0.5mm dashed #000; margin-top: 1.5mm; padding-top: 0.5mm; font-size: 8.5pt; text-align: center; }
@media screen { table.field { min-width: 180mm; } }
@media print { main { max-width: none; } @page { margin: 8mm 10mm; } }
`;
