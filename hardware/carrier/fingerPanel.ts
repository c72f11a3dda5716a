import { z } from 'zod';
import { text } from '../wiring/drawing.js';
import type { Point } from '../wiring/layout.js';
import { type Lettering, level } from '../wiring/perfboardView.js';
import { mm } from '../wiring/picture.js';
import { readEchoes } from './plywood.js';

const positive = z.coerce.number().positive();
const fingerSizes = z.object({
  rim_mm: positive,
  cup_height_mm: positive,
  cup_bottom_mm: positive,
  finger_mm: positive,
  post_mm: positive,
  shoulder_mm: positive,
  probe_above_mesh_mm: positive,
  floor_mm: positive,
  ledge_at_mm: positive,
  height_mm: positive,
  coil_height_mm: positive,
  dish_mm: positive,
  dish_height_mm: positive,
  dish_wall_mm: positive,
  dish_room_mm: positive,
});

/** The sizes of a slot and its cup that `carrier.scad` says when it is rendered, mm. */
export type FingerSizes = z.infer<typeof fingerSizes>;

/** @throws {Error} when OpenSCAD did not say all of them */
export const readFingerSizes = (said: string): FingerSizes => fingerSizes.parse(readEchoes(said));

/** A panel of the picture: what is drawn, and its words. */
export interface Panel {
  readonly shapes: readonly string[];
  readonly texts: readonly Lettering[];
}

export const WORDS_MM = 2.8;

/** Lines of words below each other, the first at a point. */
export const words = ([x, y]: Point, ...lines: readonly string[]): Lettering[] =>
  lines.map((line, index) => level(text(line, [x, y + index * 3.9], WORDS_MM, { anchor: 'start' })));

/** A panel's number and title. */
export const heading = ([x, y]: Point, line: string): Lettering =>
  level(text(line, [x, y], 3.3, { anchor: 'start', isBold: true }));

/** A length with its arrows and its figure; `at` is where the figure stands. */
export function dimension([ax, ay]: Point, [bx, by]: Point, figure: string, at: Point): Panel {
  const turn = (Math.atan2(by - ay, bx - ax) * 180) / Math.PI;
  const head = (x: number, y: number, degrees: number) =>
    `<path transform="translate(${mm(x)} ${mm(y)}) rotate(${mm(degrees)})" d="M0 0L-1.8 0.6V-0.6Z"/>`;
  return {
    shapes: [
      `<path d="M${mm(ax)} ${mm(ay)}L${mm(bx)} ${mm(by)}" stroke="#000" stroke-width="0.2"/>`,
      head(bx, by, turn),
      head(ax, ay, turn + 180),
    ],
    texts: [level(text(figure, at, WORDS_MM))],
  };
}
