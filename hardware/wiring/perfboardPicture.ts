import { text } from './drawing.js';
import type { Point } from './layout.js';
import type { Netlist } from './netlist.js';
import { partsSide, type Side } from './perfboardParts.js';
import {
  crowded,
  type Lettering,
  letteringArea,
  letteringElement,
  level,
  SCALE,
  type View,
  viewOf,
} from './perfboardView.js';
import { wiresSide } from './perfboardWires.js';
import { mm } from './picture.js';
import { type Area, isApart } from './pictureChecks.js';
import { type Hole, holeName, type Placement, pinsOf } from './placement.js';

/** A4 standing. */
const PAGE_MM = { width: 210, height: 297 } as const;
const LEFT_MM = 24.5;
const TOP_MM = { above: 29, below: 166 } as const;

/** One side as it is drawn, with what is around it. */
interface Drawn {
  readonly view: View;
  readonly side: Side;
  readonly around: readonly Lettering[];
}

function drawnSides(netlist: Netlist, placement: Placement): Drawn[] {
  const above = viewOf(placement, [LEFT_MM, TOP_MM.above], false);
  const below = viewOf(placement, [LEFT_MM, TOP_MM.below], true);
  return [
    { view: above, side: partsSide(netlist, placement, above) },
    { view: below, side: wiresSide(netlist, placement, below) },
  ].map(({ view, side }) => ({ view, side, around: rulers(placement, view) }));
}

/** The perforated board: an SVG page, A4 standing, black on white; parts from above, wires from below. */
export function perfboardPicture(netlist: Netlist, placement: Placement): string {
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${PAGE_MM.width}mm" height="${PAGE_MM.height}mm" viewBox="0 0 ${PAGE_MM.width} ${PAGE_MM.height}" font-family="Helvetica, Arial, 'DejaVu Sans', sans-serif">`,
    `<rect width="${PAGE_MM.width}" height="${PAGE_MM.height}" fill="#fff"/>`,
    ...drawnSides(netlist, placement).flatMap(({ view, side, around }) => [
      `<rect x="${mm(view.area.left)}" y="${mm(view.area.top)}" width="${mm(view.area.right - view.area.left)}" height="${mm(view.area.bottom - view.area.top)}" rx="3" fill="none" stroke="#000" stroke-width="0.4"/>`,
      ...emptyHoles(placement, view, [...side.hiding, ...side.texts.map(letteringArea)]),
      ...side.shapes,
      ...[...side.texts, ...around].map(letteringElement),
    ]),
    ...frameTexts(placement).map(letteringElement),
    '</svg>',
    '',
  ].join('\n');
}

/** All that makes the picture hard to read, one sentence each: texts on each other, on pins and wires. */
export function checkPerfboardPicture(
  netlist: Netlist,
  placement: Placement,
  more: readonly Lettering[] = [],
): string[] {
  const sides = drawnSides(netlist, placement);
  return crowded(
    [...sides.flatMap(({ side, around }) => [...side.texts, ...around]), ...frameTexts(placement), ...more],
    sides.flatMap(({ side }) => side.taken),
  );
}

const HOLE_MM = 0.55;

/** Holes that hold nothing, but for those that are hidden. */
function emptyHoles({ rows, columns, parts }: Placement, view: View, hidden: readonly Area[]): string[] {
  const full = new Set(parts.flatMap(pinsOf).map(({ hole }) => holeName(hole)));
  return Array.from(
    { length: rows * columns },
    (_, index): Hole => ({
      row: Math.floor(index / columns),
      column: index % columns,
    }),
  )
    .filter((hole) => !full.has(holeName(hole)))
    .map(view.at)
    .filter(([x, y]) =>
      hidden.every((area) =>
        isApart(area, {
          what: 'a hole',
          left: x - HOLE_MM,
          right: x + HOLE_MM,
          top: y - HOLE_MM,
          bottom: y + HOLE_MM,
        }),
      ),
    )
    .map(
      ([x, y]) =>
        `<circle cx="${mm(x)}" cy="${mm(y)}" r="${HOLE_MM}" fill="none" stroke="#000" stroke-width="0.12"/>`,
    );
}

/** Letters of the rows and numbers of the columns along all four edges. */
function rulers({ rows, columns }: Placement, { at, area }: View): Lettering[] {
  const word = (words: string, point: Point) => level(text(words, point, 2.6));
  const letters = Array.from({ length: rows }, (_, row) => {
    const [, y] = at({ row, column: 0 });
    const name = holeName({ row, column: 0 }).slice(0, 1);
    return [word(name, [area.left - 3, y + 0.9]), word(name, [area.right + 3, y + 0.9])];
  });
  const numbers = Array.from({ length: columns }, (_, column) => {
    const [x] = at({ row: 0, column });
    return [word(String(column + 1), [x, area.top - 1.2]), word(String(column + 1), [x, area.bottom + 3.2])];
  });
  return [...letters, ...numbers].flat();
}

/** Titles and remarks. */
function frameTexts({ rows, columns, file }: Placement): Lettering[] {
  const line = (words: string, y: number, size = 2.6, isBold = false) =>
    level(text(words, [12, y], size, { anchor: 'start', isBold }));
  const last = holeName({ row: rows - 1, column: 0 }).slice(0, 1);
  return [
    line('stillwarm carrier: the perforated board', 13, 5, true),
    line('Nothing here has run on physical hardware yet.', 17.3),
    line(
      `From above: the parts. Rows A to ${last}, columns 1 to ${columns}; B12 is row B, column 12. Drawn ${SCALE} times as large as it is.`,
      22.3,
      3.2,
    ),
    line(
      'Dot: a pin that is joined. Ring: a pin of the part that nothing is joined to. D1: its ring as drawn.',
      153,
    ),
    line('From below, as you hold it to solder: the wires. Column 1 is on the right now.', 159.5, 3.2),
    line(
      'Thick: bare wire along the holes. Dashed: insulated wire. Square: plus, cathode (ring), pin 1 of U2.',
      289,
    ),
    line(`Drawn from ${file} by npm run drawings; hole by hole in perfboard.md.`, 293),
  ];
}
