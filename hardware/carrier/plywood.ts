import { z } from 'zod';
import { text } from '../wiring/drawing.js';
import { mm, textElement } from '../wiring/picture.js';
import { type CutPiece, cutList, PLYWOOD_SCREWS } from './cutList.js';

const positive = z.coerce.number().positive();
const sizes = z.object({
  /** From slot to slot. */
  pitch_mm: positive,
  /** What is sawn or drilled in guide, ledge and floor. */
  well_mm: positive,
  dish_hole_mm: positive,
  post_hole_mm: positive,
  screw_mm: positive,
  /** Holes for air around each slot: how many, how wide, how far from its middle. */
  vents: positive,
  vent_mm: positive,
  vent_at_mm: positive,
  slots_per_row: positive,
  rows: positive,
});

/** The sizes that `carrier.scad` says when it is rendered, mm. */
export type Sizes = z.infer<typeof sizes>;

/** What OpenSCAD echoed as `name = figure`. */
export const readEchoes = (said: string): Record<string, string> =>
  Object.fromEntries(
    [...said.matchAll(/(\w+) = ([\d.]+)(?=[,\n])/g)].map(([, name, value]) => [name!, value!]),
  );

/** @throws {Error} when OpenSCAD did not say all of them */
export const readSizes = (said: string): Sizes => sizes.parse(readEchoes(said));

/** A board of the plywood variant, from below, as `plywood()` of `carrier.scad` lays them out. */
export interface Board {
  readonly name: string;
  readonly thickness: number;
  /** What is made at each slot. */
  readonly hole: (sizes: Sizes) => { readonly diameter: number; readonly words: readonly string[] };
  readonly hasVents: boolean;
}

const ventWords = ({ vents, vent_mm }: Sizes): string[] => [
  `first: drill ${vents} x Ø ${vent_mm}`,
  'on the small crosses',
];

export const BOARDS: readonly Board[] = [
  {
    name: 'floor: below, on strips that leave room for the cable',
    thickness: 9,
    hole: ({ post_hole_mm }) => ({ diameter: post_hole_mm, words: [`drill Ø ${Math.round(post_hole_mm)}`] }),
    hasVents: false,
  },
  {
    name: 'ledge: in the middle, its holes take the dishes',
    thickness: 8,
    hole: (all) => ({ diameter: all.dish_hole_mm, words: [`saw Ø ${all.dish_hole_mm}`, ...ventWords(all)] }),
    hasVents: true,
  },
  {
    name: 'guide: on top, its holes take the rims of the cups',
    thickness: 12,
    hole: (all) => ({ diameter: all.well_mm, words: [`saw Ø ${all.well_mm}`, ...ventWords(all)] }),
    hasVents: true,
  },
];

const MARGIN_MM = 15;
const HEAD_MM = 42;
const GAP_MM = 20;
const LETTER_MM = 6;
const SMALL_MM = 4;
const NUMBER_MM = 14;
const SCALE_MM = 100;
/** Arms of the cross on which a drill or a pair of compasses is set. */
const CROSS_MM = { slot: 3, vent: 1.5 } as const;
const LINE_MM = 8;

/**
 * The drawing to cut from, 1:1: what OpenSCAD drew, with the number of each slot, the middle and the size of each
 * hole, two lines to measure, and the list of what is cut.
 *
 * @param drawn the SVG file that OpenSCAD wrote for `part="plywood"`
 * @param all the sizes that it said
 * @param cup the cup it was drawn for
 * @throws {Error} when the drawing is not by OpenSCAD, or not of these sizes
 */
export function plywoodSheet(drawn: string, all: Sizes, cup: string): string {
  const [, width, height] = (/<svg width="([\d.]+)mm" height="([\d.]+)mm"/.exec(drawn) ?? []).map(Number);
  const [, path] = /<path d="([^"]+)"/.exec(drawn) ?? [];
  if (!width || !height || !path) throw new Error('this is not a drawing by OpenSCAD');
  const deep = (height - (BOARDS.length - 1) * GAP_MM) / BOARDS.length;
  const outlines = outlinesIn(path);
  const pieces = cutList(width, deep);
  const list = [
    'Cut list, mm',
    ...pieces.map(pieceLine),
    ...PLYWOOD_SCREWS.map(({ number, what }) => `${number} ${what}`),
  ];
  const foot = list.length * LINE_MM + MARGIN_MM;
  const top = -height - HEAD_MM;
  const sheet = { width: width + 2 * MARGIN_MM, height: height + HEAD_MM + foot + MARGIN_MM };
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${mm(sheet.width)}mm" height="${mm(sheet.height)}mm" viewBox="${-MARGIN_MM} ${mm(top)} ${mm(sheet.width)} ${mm(sheet.height)}" font-family="Helvetica, Arial, 'DejaVu Sans', sans-serif">`,
    `<rect x="${-MARGIN_MM}" y="${mm(top)}" width="${mm(sheet.width)}" height="${mm(sheet.height)}" fill="#fff"/>`,
    line(
      `Plywood carrier for ${cup} cups, boards of ${mm(width)} x ${mm(deep)} mm, seen from above`,
      top + 12,
      true,
    ),
    line(`Print at 100 %: this line and the one on the left are ${SCALE_MM} mm each.`, top + 20),
    ...scaleLines(height),
    ...BOARDS.flatMap((board, index) => {
      const bottom = -index * (deep + GAP_MM);
      checkHoles(board, all, outlines, bottom);
      return [
        line(`${board.name}, ${board.thickness} mm thick; the box on the left`, bottom - deep - 3),
        ...slotMarks(board, all, bottom),
      ];
    }),
    ...screwMarks(outlines, all),
    `<path fill="none" stroke="#000" stroke-width="0.3" d="${path.trim().replaceAll(/\s+/g, ' ')}"/>`,
    ...list.map((words, index) => line(words, MARGIN_MM + index * LINE_MM, index === 0)),
    '</svg>',
    '',
  ].join('\n');
}

const line = (words: string, y: number, isBold = false): string =>
  textElement(text(words, [0, y], LETTER_MM, { anchor: 'start', isBold }));

const pieceLine = ({ number, name, long, wide, thick, note }: CutPiece): string =>
  `${number} ${name} ${long} x ${wide}, ${thick} thick${note ? `: ${note}` : ''}`;

/** One across, one down: printers stretch either. */
function scaleLines(height: number): string[] {
  const end = (x: number, y: number, isAcross: boolean) =>
    isAcross ? `M${x} ${mm(y - 2)}v4` : `M${x - 2} ${mm(y)}h4`;
  const y = -height - 15;
  const x = -8;
  return [
    `<path d="M0 ${mm(y)}h${SCALE_MM}${end(0, y, true)}${end(SCALE_MM, y, true)}" stroke="#000" stroke-width="0.4"/>`,
    `<path d="M${x} ${-height}v${SCALE_MM}${end(x, -height, false)}${end(x, -height + SCALE_MM, false)}" stroke="#000" stroke-width="0.4"/>`,
  ];
}

const cross = (x: number, y: number, arm: number): string =>
  `<path d="M${mm(x - arm)} ${mm(y)}h${2 * arm}M${mm(x)} ${mm(y - arm)}v${2 * arm}" stroke="#000" stroke-width="0.15"/>`;

/** The middles of the slots of a board whose lower edge is at `bottom`, slot 1 first: above on the left. */
function middles({ pitch_mm, slots_per_row, rows }: Sizes, bottom: number): [x: number, y: number][] {
  return Array.from({ length: slots_per_row * rows }, (_, index) => [
    ((index % slots_per_row) + 0.5) * pitch_mm,
    bottom - (rows - Math.floor(index / slots_per_row) - 0.5) * pitch_mm,
  ]);
}

/** The middles of the air holes around a slot, as `vent_holes()` of the model has them. */
function ventsAround([x, y]: readonly [number, number], { vents, vent_at_mm }: Sizes): [number, number][] {
  return Array.from({ length: vents }, (_, index) => {
    const turn = ((index + 0.5) * 2 * Math.PI) / vents;
    return [x + vent_at_mm * Math.cos(turn), y + vent_at_mm * Math.sin(turn)];
  });
}

function slotMarks(board: Board, all: Sizes, bottom: number): string[] {
  const { words } = board.hole(all);
  return middles(all, bottom).flatMap(([x, y], index) => {
    const texts = [
      text(String(index + 1), [x, y - 8], NUMBER_MM, { isBold: true }),
      ...words.map((each, row) => text(each, [x, y + 12 + row * 6], row === 0 ? LETTER_MM : SMALL_MM)),
    ];
    const crosses = board.hasVents ? ventsAround([x, y], all) : [];
    return [
      cross(x, y, CROSS_MM.slot),
      ...crosses.map(([vx, vy]) => cross(vx, vy, CROSS_MM.vent)),
      ...texts.map(textElement),
    ];
  });
}

/** A closed line of the drawing as its points. */
type Outline = readonly (readonly [x: number, y: number])[];

const outlinesIn = (path: string): Outline[] =>
  path
    .split('z')
    .map((outline) =>
      [...outline.matchAll(/(-?[\d.]+),(-?[\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)] as const),
    )
    .filter((points) => points.length > 0);

/** Corners of OpenSCAD's circles lie on them, the lines between a little inside. */
const ROUNDING_MM = 0.1;

/** The holes that OpenSCAD drew on a board are where its slots are, and of the sizes that are written beside them. */
function checkHoles(board: Board, all: Sizes, outlines: readonly Outline[], bottom: number): void {
  const { diameter } = board.hole(all);
  const inner = diameter / 2;
  const outer = board.hasVents ? all.vent_at_mm + all.vent_mm / 2 : inner;
  const isRight = ([x, y]: readonly [number, number]) =>
    outlines.some((points) => {
      const reach = points.map(([px, py]) => Math.hypot(px - x, py - y));
      return (
        Math.abs(Math.min(...reach) - inner) < ROUNDING_MM &&
        Math.abs(Math.max(...reach) - outer) < ROUNDING_MM
      );
    });
  const wrong = middles(all, bottom).findIndex((middle) => !isRight(middle));
  if (wrong !== -1)
    throw new Error(
      `${board.name.split(':')[0]}, slot ${wrong + 1}: no hole of ${diameter} mm is drawn there`,
    );
}

/** Crosses on the holes for screws, and once on each board how wide they are. */
function screwMarks(outlines: readonly Outline[], { screw_mm }: Sizes): string[] {
  const holes = outlines.flatMap((points) => {
    const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
    const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    return Math.abs(right - left - screw_mm) < ROUNDING_MM && Math.abs(bottom - top - screw_mm) < ROUNDING_MM
      ? [[(left + right) / 2, (top + bottom) / 2] as const]
      : [];
  });
  return holes.flatMap(([x, y]) => [
    cross(x, y, CROSS_MM.slot),
    textElement(text(`drill ${Math.ceil(2 * screw_mm) / 2}`, [x, y - 4], 3)),
  ]);
}
