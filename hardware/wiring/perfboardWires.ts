import { text } from './drawing.js';
import type { Point } from './layout.js';
import type { Netlist } from './netlist.js';
import { bodyOf } from './partBodies.js';
import { edgesOf, PIN_MM, pinShape, type Side } from './perfboardParts.js';
import {
  around,
  firstFree,
  type Lettering,
  letteringArea,
  level,
  turned,
  type View,
} from './perfboardView.js';
import { mm } from './picture.js';
import type { Area } from './pictureChecks.js';
import { endOf, holeName, type PlacedPin, type Placement, pinsOf, type Run } from './placement.js';

const WIRE_MM = { bare: 0.8, lead: 0.4 } as const;
const NET_MM = 2.3;
/** From a wire's middle to the letters beside it. */
const BESIDE_MM = 0.8;

/** The board from below: wires with their nets, joints, the outlines of the parts above. */
export function wiresSide(netlist: Netlist, placement: Placement, view: View): Side {
  const pins = placement.parts.flatMap(pinsOf);
  const dots = pins.map((pin) => around(`a pin of ${pin.ref}`, view.at(pin.hole), PIN_MM.reach));
  const taken = [...dots, ...placement.runs.flatMap((run) => wireAreas(run, view)), ...edgesOf(view)];
  const texts: Lettering[] = [];
  const put = (places: readonly Lettering[]): boolean => {
    const found = firstFree(places, [...taken, ...texts.map(letteringArea)]);
    if (found) texts.push(found);
    return found !== null;
  };
  const outlines = placement.parts.flatMap((placed) => {
    const part = netlist.parts.find(({ ref }) => ref === placed.ref);
    return part ? [view.areaOf(part.ref, bodyOf(part.kind, placed))] : [];
  });
  // Nets first: their names have but the place beside a wire.
  for (const net of new Set(placement.runs.map((run) => run.net))) {
    const runs = placement.runs.filter((run) => run.net === net);
    // A net without a free place is named over its wire, and the check of the picture finds it.
    const named = runs.filter(
      (run, index) => (index === 0 || isLong(run, view)) && put(netPlaces(run, view)),
    );
    if (named.length === 0 && !runs.some((run) => put(netPlaces(run, view))))
      texts.push(netPlaces(runs[0]!, view)[0]!);
  }
  for (const outline of outlines) if (!put(refPlaces(outline))) texts.push(refPlaces(outline)[0]!);
  return {
    shapes: [
      ...outlines.map(
        ({ what, left, top, right, bottom }) =>
          `<rect data-part="${what}" x="${mm(left)}" y="${mm(top)}" width="${mm(right - left)}" height="${mm(bottom - top)}" rx="0.8" fill="none" stroke="#000" stroke-width="0.2" stroke-dasharray="0.8 0.8"/>`,
      ),
      ...placement.runs.map((run) => wireShape(run, view)),
      ...pins.map((pin) => (isMarked(netlist, pin) ? squareShape(pin, view) : pinShape(pin, view))),
    ],
    texts,
    taken,
    hiding: [],
  };
}

/** Pins by which a part is turned the right way: plus, cathode, pin 1 of a chip. */
function isMarked(netlist: Netlist, pin: PlacedPin): boolean {
  const kind = netlist.parts.find(({ ref }) => ref === pin.ref)?.kind;
  return pin.pin === '+' || (kind === 'diode' && pin.pin === 'K') || (kind === 'memory' && pin.pin === 'A0');
}

function squareShape(pin: PlacedPin, view: View): string {
  const [x, y] = view.at(pin.hole);
  return `<rect x="${mm(x - 1)}" y="${mm(y - 1)}" width="2" height="2" data-pin="${endOf(pin)}"/>`;
}

function wireShape({ net, isBare, holes }: Run, view: View): string {
  const points = holes.map((hole) => view.at(hole).map(mm).join(' ')).join('L');
  const dashes = isBare ? '' : ' stroke-dasharray="2 1.2"';
  return `<path data-net="${net}" data-holes="${holes.map(holeName).join(' ')}" fill="none" stroke="#000" stroke-width="${isBare ? WIRE_MM.bare : WIRE_MM.lead}" stroke-linejoin="round"${dashes} d="M${points}"/>`;
}

const between = ([ax, ay]: Point, [bx, by]: Point, part: number): Point => [
  ax + (bx - ax) * part,
  ay + (by - ay) * part,
];

/** The room of a wire: of its straight pieces, or of steps along it where it runs aslant. */
function wireAreas({ net, isBare, holes }: Run, view: View): Area[] {
  const what = `a wire of ${net}`;
  const reach = (isBare ? WIRE_MM.bare : WIRE_MM.lead) / 2;
  return holes.slice(1).flatMap((hole, index): Area[] => {
    const [from, to] = [view.at(holes[index]!), view.at(hole)];
    const steps = from[0] === to[0] || from[1] === to[1] ? 1 : 60;
    return Array.from({ length: steps }, (_, step) => {
      const [a, b] = [between(from, to, step / steps), between(from, to, (step + 1) / steps)];
      return {
        what,
        left: Math.min(a[0], b[0]) - reach,
        right: Math.max(a[0], b[0]) + reach,
        top: Math.min(a[1], b[1]) - reach,
        bottom: Math.max(a[1], b[1]) + reach,
      };
    });
  });
}

/** Places along a wire, from its middle outwards. */
const PARTS_OF_A_WIRE = Array.from(
  { length: 19 },
  (_, index) => 0.5 + (index % 2 === 0 ? 1 : -1) * Math.ceil(index / 2) * 0.05,
);
/** Such a piece is named even where its net is named elsewhere. */
const LONG_MM = 35;
const isLong = ({ holes }: Run, view: View): boolean =>
  holes.slice(1).some((hole, index) => length([view.at(holes[index]!), view.at(hole)]) >= LONG_MM);

/** Places beside the straight pieces of a wire, the longest piece first. */
function netPlaces({ net, holes }: Run, view: View): Lettering[] {
  const pieces = holes
    .slice(1)
    .map((hole, index) => [view.at(holes[index]!), view.at(hole)] as const)
    .sort((a, b) => length(b) - length(a));
  const word = (at: Point, anchor: 'start' | 'middle' | 'end' = 'middle') =>
    text(net, at, NET_MM, { anchor, of: net });
  const along = pieces.flatMap(([from, to]) =>
    PARTS_OF_A_WIRE.flatMap((part) => {
      const [x, y] = between(from, to, part);
      // Upright beside a piece that goes down: to its left, then to its right.
      return from[0] === to[0]
        ? [turned(word([x - BESIDE_MM, y])), turned(word([x + BESIDE_MM + 0.75 * NET_MM, y]))]
        : [level(word([x, y - BESIDE_MM])), level(word([x, y + BESIDE_MM + 0.75 * NET_MM]))];
    }),
  );
  // Level beside a short piece that goes down.
  const beside = pieces.flatMap((piece) => {
    const [x, y] = between(...piece, 0.5);
    return [
      level(word([x + BESIDE_MM + 0.5, y + 0.8], 'start')),
      level(word([x - BESIDE_MM - 0.5, y + 0.8], 'end')),
    ];
  });
  return [...along, ...beside];
}

const length = ([from, to]: readonly [Point, Point]): number =>
  Math.abs(from[0] - to[0]) + Math.abs(from[1] - to[1]);

/** Places for a part's name: in its outline, from the middle outwards, then around it. */
function refPlaces({ what, left, top, right, bottom }: Area): Lettering[] {
  const steps = (from: number, to: number) => {
    const middle = (from + to) / 2;
    const count = Math.max(1, Math.floor((to - from) / 2));
    return Array.from(
      { length: count },
      (_, index) => middle + (index % 2 === 0 ? 1 : -1) * Math.ceil(index / 2),
    );
  };
  const word = (x: number, y: number) => level(text(what, [x, y], 2.5, { isBold: true, of: what }));
  const inside = steps(top, bottom).flatMap((y) => steps(left, right).map((x) => word(x, y + 0.9)));
  const outside = [top - 0.8, bottom + 2.7].flatMap((y) => steps(left, right).map((x) => word(x, y)));
  const beside = [left - 3, right + 3].flatMap((x) => steps(top, bottom).map((y) => word(x, y + 0.9)));
  return [...inside, ...outside, ...beside];
}
