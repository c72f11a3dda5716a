import type { ReadyCup } from '../../plan/planned.js';
import type { CupLabel } from '../../units/ids.js';
import { type Html, html } from '../html.js';
import { page } from '../page.js';
import { type LabelGrid, PAPERS } from './labelGrid.js';
import { type CodeKind, machineCode, mm } from './machineCode.js';

/**
 * What stands on one label; a spare one is for a cup that takes another's place. Neither lot nor whether there is a strip: the label goes
 * to whoever washes, who should not know.
 */
export type LabelledCup =
  | Pick<ReadyCup, 'cup' | 'yard' | 'carrier' | 'slot' | 'colony'>
  | { readonly cup: CupLabel };

export interface LabelSheet {
  readonly grid: LabelGrid;
  readonly code: CodeKind;
  /** Labels of the first sheet that are used up. */
  readonly skip: number;
  /** Of each label, one after the other. */
  readonly copies: number;
  /** Draws where to cut plain paper. */
  readonly isCut: boolean;
}

/** White between the edge of a label and what is printed on it. */
const PADDING_MM = 2;
const POINTS_A_MM = 2.835;

/** Sheets of labels, to be printed at 100 %. */
export function labelSheet(cups: readonly LabelledCup[], sheet: LabelSheet): string {
  const { grid, skip, copies } = sheet;
  const aSheet = grid.columns * grid.rows;
  const each = cups.flatMap((cup) => Array.from({ length: copies }, () => cup));
  const places = each.map((cup, index) => ({ cup, at: skip + index }));
  const sheets = Math.ceil((skip + each.length) / aSheet);
  return page({
    language: 'en',
    title: 'Cup labels',
    style: styleOf(sheet),
    body: html`${Array.from(
      { length: sheets },
      (_, number) => html`<section class="sheet" aria-label="sheet ${number + 1}">
${places.filter(({ at }) => Math.floor(at / aSheet) === number).map(({ cup, at }) => labelAt(cup, at % aSheet, sheet))}</section>
`,
    )}`,
  });
}

function labelAt(labelled: LabelledCup, place: number, sheet: LabelSheet): Html {
  const { columns, label, margin, gap } = sheet.grid;
  const left = margin[0] + (place % columns) * (label[0] + gap[0]);
  const top = margin[1] + Math.floor(place / columns) * (label[1] + gap[1]);
  return html`<div class="label" style="left:${mm(left)}mm;top:${mm(top)}mm">${faceOf(labelled, sheet)}</div>
`;
}

function faceOf(labelled: LabelledCup, { grid, code }: LabelSheet): Html {
  const [width, height] = [grid.label[0] - 2 * PADDING_MM, grid.label[1] - 2 * PADDING_MM];
  const made =
    code === 'qr'
      ? machineCode('qr', labelled.cup, Math.min(height, width * 0.45), height)
      : machineCode('code128', labelled.cup, width, height * 0.45);
  const room = code === 'qr' ? width - made.widthMm : width;
  // A capital of a bold sans serif is about 0.72 of its size wide, digits and hyphens less.
  const points = Math.min(13, (room * POINTS_A_MM) / (labelled.cup.length * 0.66));
  const lines = 'yard' in labelled ? linesOf(labelled) : ['spare', 'replaces:'];
  return html`<div class="face ${code}">${made.svg}<div class="words"><b style="font-size:${mm(points)}pt">${labelled.cup}</b>${lines.map((line) => html`<span>${line}</span>`)}</div></div>`;
}

const linesOf = ({
  yard,
  carrier,
  slot,
  colony,
}: Extract<LabelledCup, { readonly slot: number }>): string[] => [
  yard,
  [`${carrier}:${slot}`, ...(colony === null ? [] : [`colony ${colony}`])].join(' · '),
];

/** On the sheet itself nothing but labels: no margin of the page, no footer. */
const styleOf = ({ grid: { paper, label }, isCut }: LabelSheet): string => `
@page { size: ${PAPERS[paper][0]}mm ${PAPERS[paper][1]}mm; margin: 0; }
main { max-width: none; padding: 0; }
.sheet { position: relative; width: ${PAPERS[paper][0]}mm; height: ${PAPERS[paper][1]}mm; overflow: hidden; break-after: page; break-inside: avoid; }
.sheet:last-of-type { break-after: auto; }
.label { position: absolute; width: ${label[0]}mm; height: ${label[1]}mm; padding: ${PADDING_MM}mm; overflow: hidden; color: #000;${isCut ? ' outline: 0.2mm dashed #777;' : ''} }
.face { display: flex; height: 100%; align-items: center; } .face.code128 { flex-direction: column; justify-content: center; }
.face svg { flex: none; max-width: none; }
.words { min-width: 0; flex: 1 1 0; line-height: 1.15; font-size: 9pt; } .words b, .words span { display: block; white-space: nowrap; overflow: hidden; text-overflow: ellipsis; }
.face.code128 .words { flex: none; width: 100%; text-align: center; }
@media screen { .sheet { outline: 1px solid #c4c4c4; margin: 0 auto 8mm; } }
`;

/** Labels that go on from the last one of a plan; null when that does not end in a number. */
export function spareLabels(cups: readonly ReadyCup[], count: number): CupLabel[] | null {
  const taken = new Set<string>(cups.map(({ cup }) => cup));
  const last = cups.at(-1)?.cup ?? '';
  const [, stem, number] = /^(.*?)(\d+)$/.exec(last) ?? [];
  if (stem === undefined || number === undefined) return count === 0 ? [] : null;
  const spares: CupLabel[] = [];
  for (let next = Number(number) + 1; spares.length < count; next += 1) {
    const label = `${stem}${String(next).padStart(number.length, '0')}`;
    if (!taken.has(label)) spares.push(label as CupLabel);
  }
  return spares;
}
