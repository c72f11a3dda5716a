import type { PartKind } from './netlist.js';
import { PITCH_MM, type PlacedPart, pinsOf } from './placement.js';

/** Millimetres from hole A1, to the right and down, seen from above. */
export interface Rectangle {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** Common sizes of such parts, mm (common practice, no source): how far a body reaches beyond its outer pins. */
const BEYOND_MM: Partial<Record<PartKind, { readonly along: number; readonly across: number }>> = {
  resistor: { along: 0.8, across: 1.25 },
  diode: { along: 0.8, across: 1.3 },
  ceramic: { along: 0.8, across: 1.1 },
  capacitor: { along: 1.9, across: 3.15 },
  'resettable-fuse': { along: 1.2, across: 1.5 },
  terminal: { along: 2.5, across: 3.7 },
  memory: { along: 1.2, across: 1.2 },
  board: { along: 4.6, across: 1.3 },
  clock: { along: 1.2, across: 1.2 },
};

/** The room that a part takes above the board, its pins included. */
export function bodyOf(kind: PartKind, placed: PlacedPart): Rectangle {
  const holes = pinsOf(placed).map(({ hole }) => hole);
  const [xs, ys] = [holes.map(({ column }) => column * PITCH_MM), holes.map(({ row }) => row * PITCH_MM)];
  const box = {
    left: Math.min(...xs),
    right: Math.max(...xs),
    top: Math.min(...ys),
    bottom: Math.max(...ys),
  };
  const { along, across } = BEYOND_MM[kind] ?? { along: 1.2, across: 1.2 };
  const isTall = box.bottom - box.top > box.right - box.left;
  const [x, y] = isTall ? [across, along] : [along, across];
  return { left: box.left - x, right: box.right + x, top: box.top - y, bottom: box.bottom + y };
}
