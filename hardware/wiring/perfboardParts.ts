import { SIZE, shownValue, text } from './drawing.js';
import type { Point } from './layout.js';
import type { Netlist, Part, PartKind } from './netlist.js';
import { bodyOf } from './partBodies.js';
import {
  around,
  firstFree,
  type Lettering,
  letteringArea,
  level,
  SCALE,
  type View,
} from './perfboardView.js';
import { mm } from './picture.js';
import { type Area, isApart } from './pictureChecks.js';
import { type PlacedPart, type PlacedPin, type Placement, pinsOf } from './placement.js';

/** What is drawn of one side of the board. */
export interface Side {
  readonly shapes: readonly string[];
  readonly texts: readonly Lettering[];
  /** What no text may lie on. */
  readonly taken: readonly Area[];
  /** What hides the holes below it. */
  readonly hiding: readonly Area[];
}

/** A placed part with what the netlist knows of it. */
interface Seen {
  readonly part: Part;
  readonly placed: PlacedPart;
  readonly body: Area;
}

/** A pin's dot, and the room around it that stays free of letters. */
export const PIN_MM = { radius: 0.85, reach: 1 } as const;
const WORDS_MM = 2.5;
const PRINT_MM = 2.3;

/** Parts with two legs whose body is short of them: its length and width, mm of the part (common sizes, no source). */
const AXIAL: Partial<Record<PartKind, readonly [length: number, width: number]>> = {
  resistor: [6.6, 2.5],
  diode: [5.2, 2.7],
};

/** The board from above: bodies, pins, what stands where. */
export function partsSide(netlist: Netlist, placement: Placement, view: View): Side {
  const seen = placement.parts.flatMap((placed): Seen[] => {
    const part = netlist.parts.find(({ ref }) => ref === placed.ref);
    return part ? [{ part, placed, body: view.areaOf(part.ref, bodyOf(part.kind, placed)) }] : [];
  });
  const pins = placement.parts.flatMap(pinsOf);
  const prints = seen.flatMap((each) => printsOf(each, view));
  const bodies = seen.map(({ body }) => body);
  const dots = pins.map((pin) => around(`a pin of ${pin.ref}`, view.at(pin.hole), PIN_MM.reach));
  const texts = [...prints];
  for (const each of seen) {
    const others = [...bodies.filter((body) => body !== each.body), ...dots, ...texts.map(letteringArea)];
    const found = namePlaces(each)
      .filter((lines) => lines.every((line) => liesInOrOut(line, each.body)))
      .find((lines) => lines.every((line) => firstFree([line], others) !== null));
    texts.push(...(found ?? namePlaces(each)[0]!));
  }
  return {
    shapes: [...seen.flatMap((each) => shapeOf(each, view)), ...pins.map((pin) => pinShape(pin, view))],
    texts,
    taken: [...dots, ...edgesOf(view)],
    hiding: bodies,
  };
}

/** A text stands in its part's body or beside it, not across its edge. */
function liesInOrOut(line: Lettering, body: Area): boolean {
  const area = letteringArea(line);
  const isIn =
    area.left >= body.left && area.right <= body.right && area.top >= body.top && area.bottom <= body.bottom;
  return isIn || isApart(area, body);
}

/** The edge of the board as four lines that no text may cross. */
export function edgesOf({ area }: View): Area[] {
  const { left, right, top, bottom } = area;
  const what = 'the edge of the board';
  return [
    { what, left, right, top, bottom: top },
    { what, left, right, top: bottom, bottom },
    { what, left, right: left, top, bottom },
    { what, left: right, right, top, bottom },
  ];
}

/** What stands on a part, a line or two. */
function namesOf({ part, placed }: Seen): string[] {
  switch (part.kind) {
    case 'board':
      return [
        `${part.ref}: board, in two socket strips of ${placed.rows[0]?.length}`,
        'nearest to its USB socket: D12 above, D13 below',
      ];
    case 'memory':
      return [`${part.ref} memory`, 'DIP-8 socket'];
    case 'clock':
      return [`${part.ref}: clock, strip of ${pinsOf(placed).length}`];
    case 'terminal':
      return [`${part.ref}: ${part.value}`];
    default:
      return [`${part.ref} ${shownValue(part)}`];
  }
}

/** Places for a part's name, best first: on it, above, below, at its sides. */
function namePlaces(seen: Seen): Lettering[][] {
  const { right, top, bottom } = seen.body;
  const left = seen.part.kind === 'board' ? seen.body.left + USB_MM.inside : seen.body.left;
  const [x, y] = [(left + right) / 2, (top + bottom) / 2];
  const words = namesOf(seen);
  const lines = (at: Point, anchor: 'start' | 'middle' | 'end' = 'middle') =>
    words.map((line, index) =>
      level(
        text(line, [at[0], at[1] + (index - (words.length - 1) / 2) * 3.4 + 0.9], WORDS_MM, {
          anchor,
          isBold: index === 0,
          of: seen.part.ref,
        }),
      ),
    );
  const gap = 1.8;
  return [
    lines([x, y]),
    lines([x, top - gap]),
    lines([x, bottom + gap + 0.4]),
    lines([left - 1, y], 'end'),
    lines([right + 1, y], 'start'),
    lines([left, top - gap], 'start'),
    lines([right, top - gap], 'end'),
  ];
}

/** What is printed beside the pins of a part with more than two; unused pins have none. */
function printsOf({ part, placed, body }: Seen, view: View): Lettering[] {
  if (part.pins.length < 3 && part.kind !== 'terminal') return [];
  return placed.rows.flatMap((row, index) =>
    row.flatMap((pin) => {
      if (pin.pin === null) return [];
      const [x, y] = view.at(pin.hole);
      const print = part.pins.find(({ name }) => name === pin.pin)?.print ?? pin.pin;
      // Towards the middle of a part with two rows, below a single one.
      const isLower = index > 0;
      const base =
        part.kind === 'clock'
          ? body.bottom + 2.2
          : part.kind === 'terminal'
            ? y + 6
            : isLower
              ? y - 1.9
              : y + 3.6;
      return [level(text(print, [x, base], PRINT_MM, { of: part.ref }))];
    }),
  );
}

const LINE_MM = 0.35;
/** How the board's USB socket is drawn: how far into the board and beyond it, half its width. */
const USB_MM = { inside: 11, outside: 1.5, half: 9 } as const;

function shapeOf({ part, placed, body }: Seen, view: View): string[] {
  const [x, y] = [(body.left + body.right) / 2, (body.top + body.bottom) / 2];
  const drawn = (shape: string) =>
    `<g fill="#fff" stroke="#000" stroke-width="${LINE_MM}" data-part="${part.ref}">${shape}</g>`;
  const rect = (left: number, top: number, right: number, bottom: number) =>
    `<rect x="${mm(left)}" y="${mm(top)}" width="${mm(right - left)}" height="${mm(bottom - top)}" rx="0.8"/>`;
  const whole = rect(body.left, body.top, body.right, body.bottom);
  const [first, second] = pinsOf(placed).map(({ hole }) => view.at(hole));
  const axial = AXIAL[part.kind];
  if (axial && first && second) {
    const isUpright = first[0] === second[0];
    const [long, wide] = [(axial[0] * SCALE) / 2, (axial[1] * SCALE) / 2];
    const [dx, dy] = isUpright ? [wide, long] : [long, wide];
    const legs = `<path d="M${mm(first[0])} ${mm(first[1])}L${mm(second[0])} ${mm(second[1])}"/>`;
    // The ring is at the cathode, the second pin.
    const ring =
      part.kind === 'diode' && isUpright
        ? `<path stroke-width="1.4" d="M${mm(x - dx)} ${mm(y + Math.sign(second[1] - first[1]) * (dy - 1.6))}h${mm(2 * dx)}"/>`
        : '';
    return [drawn(legs + rect(x - dx, y - dy, x + dx, y + dy) + ring)];
  }
  switch (part.kind) {
    case 'capacitor': {
      const [px, py] = first ?? [x, y];
      const plus = `<path d="M${mm(px - 1)} ${mm(py - 4)}h2M${mm(px)} ${mm(py - 5)}v2"/>`;
      return [drawn(`<circle cx="${mm(x)}" cy="${mm(y)}" r="${mm(3.15 * SCALE)}"/>${plus}`)];
    }
    case 'terminal':
      return [drawn(`${whole}<path d="M${mm(body.left)} ${mm(body.top + 2.6)}H${mm(body.right)}"/>`)];
    case 'memory':
      return [drawn(`${whole}<path d="M${mm(body.left)} ${mm(y - 2)}a2 2 0 0 1 0 4"/>`)];
    case 'board': {
      const usb = rect(
        body.left - USB_MM.outside,
        y - USB_MM.half,
        body.left + USB_MM.inside,
        y + USB_MM.half,
      );
      const word = `<text stroke="none" fill="#000" font-size="${SIZE.pin}" text-anchor="middle" x="${mm(body.left + 5)}" y="${mm(y + 0.9)}">USB</text>`;
      return [drawn(whole + usb + word)];
    }
    default:
      return [drawn(whole)];
  }
}

/** A filled dot for a pin that is joined, a ring for one that is not. */
export function pinShape(pin: PlacedPin, view: View): string {
  const [x, y] = view.at(pin.hole);
  return pin.pin === null
    ? `<circle cx="${mm(x)}" cy="${mm(y)}" r="${PIN_MM.radius}" fill="#fff" stroke="#000" stroke-width="${LINE_MM}"/>`
    : `<circle cx="${mm(x)}" cy="${mm(y)}" r="${PIN_MM.radius}"/>`;
}
