import { type Box, type Direction, type Layout, type Point, SYMBOL_MM, type TwoPin } from './layout.js';
import type { Netlist, Part } from './netlist.js';

/** A straight piece of wire of a net. */
export interface Segment {
  readonly net: string;
  readonly from: Point;
  readonly to: Point;
}

/** A line of text; `x` is its start, middle or end by `anchor`, `y` its base line. */
export interface Text {
  readonly words: string;
  readonly x: number;
  readonly y: number;
  readonly size: number;
  readonly anchor: 'start' | 'middle' | 'end';
  readonly isBold: boolean;
  /** What it names: a net, a part, or nothing. */
  readonly of: string | null;
}

/** A layout made out in coordinates. */
export interface Drawing {
  readonly layout: Layout;
  readonly segments: readonly Segment[];
  readonly texts: readonly Text[];
  readonly pins: ReadonlyMap<string, Point>;
}

export const SIZE = { pin: 2.5, net: 2.4, ref: 2.9, value: 2.5 } as const;

const STEP: Readonly<Record<Direction, Point>> = { right: [1, 0], left: [-1, 0], down: [0, 1], up: [0, -1] };

/**
 * Makes a layout out: where each pin is, the pieces of wire, the texts.
 *
 * @throws {Error} when the layout names a pin that is not placed or a step that is neither across nor down
 */
export function makeDrawing(netlist: Netlist, layout: Layout): Drawing {
  const pins = placePins(netlist, layout);
  const segments = layout.wires.flatMap(({ net, routes }) =>
    routes.flatMap((route) => follow(route, pins).map(([from, to]) => ({ net, from, to }))),
  );
  return { layout, pins, segments, texts: [...partTexts(netlist, layout, pins), ...netTexts(layout)] };
}

function placePins(netlist: Netlist, layout: Layout): ReadonlyMap<string, Point> {
  const inBoxes = layout.boxes.flatMap((box) =>
    Object.keys(box.pins).map((name) => [`${box.ref}.${name}`, boxPin(box, name)] as const),
  );
  const inSymbols = layout.symbols.flatMap((symbol) => {
    const [first, second] = netlist.parts.find(({ ref }) => ref === symbol.ref)?.pins ?? [];
    const step = STEP[symbol.to];
    const far: Point = [symbol.at[0] + step[0] * SYMBOL_MM, symbol.at[1] + step[1] * SYMBOL_MM];
    return [
      [`${symbol.ref}.${first?.name}`, symbol.at] as const,
      [`${symbol.ref}.${second?.name}`, far] as const,
    ];
  });
  const inTerminals = layout.terminals.flatMap(({ ref, pins }) =>
    Object.entries(pins).map(([name, point]) => [`${ref}.${name}`, point] as const),
  );
  return new Map([...inBoxes, ...inSymbols, ...inTerminals]);
}

function boxPin({ x, y, width, height, pins }: Box, name: string): Point {
  const { side, at } = pins[name]!;
  if (side === 'left') return [x, y + at];
  if (side === 'right') return [x + width, y + at];
  return side === 'top' ? [x + at, y] : [x + at, y + height];
}

function follow(route: string, pins: ReadonlyMap<string, Point>): [Point, Point][] {
  const [start = '', ...steps] = route.split(' ');
  const place = (word: string): Point => {
    const pin = pins.get(word);
    if (pin) return pin;
    const [x, y] = word.split(',').map(Number);
    if (x === undefined || y === undefined || Number.isNaN(x) || Number.isNaN(y))
      throw new Error(`layout.ts, route "${route}": ${word} is neither a placed pin nor x,y`);
    return [x, y];
  };
  const pieces: [Point, Point][] = [];
  let here = place(start);
  for (const step of steps) {
    const along = /^([xy])(\d+(?:\.\d+)?)$/.exec(step);
    const next: Point = along
      ? along[1] === 'x'
        ? [Number(along[2]), here[1]]
        : [here[0], Number(along[2])]
      : place(step);
    if (next[0] !== here[0] && next[1] !== here[1])
      throw new Error(`layout.ts, route "${route}": ${step} is neither straight across nor straight down`);
    pieces.push([here, next]);
    here = next;
  }
  return pieces;
}

/** A line of text at a point, around it unless `anchor` says otherwise. */
export const text = (
  words: string,
  [x, y]: Point,
  size: number,
  rest: { anchor?: Text['anchor']; isBold?: boolean; of?: string } = {},
): Text => ({
  words,
  x,
  y,
  size,
  anchor: rest.anchor ?? 'middle',
  isBold: rest.isBold ?? false,
  of: rest.of ?? null,
});

function partTexts(netlist: Netlist, layout: Layout, pins: ReadonlyMap<string, Point>): Text[] {
  const boxes = layout.boxes.flatMap((box) => {
    const [x, y] = box.text ?? [box.x + box.width / 2, box.y + box.height / 2];
    const names = box.name.map((words, index) =>
      text(words, [x, y + index * 3.6], index === 0 ? SIZE.ref : SIZE.value, {
        isBold: index === 0,
        of: box.ref,
      }),
    );
    const prints = netlist.parts.find(({ ref }) => ref === box.ref)?.pins ?? [];
    const pinTexts = prints
      .filter(({ name }) => box.pins[name])
      .map(({ name, print }) => {
        const words = print === name ? name : `${name} (${print})`;
        const [px, py] = pins.get(`${box.ref}.${name}`)!;
        const size = box.pinSize ?? SIZE.pin;
        switch (box.pins[name]!.side) {
          case 'left':
            return text(words, [px + 1.2, py + 0.9], size, { anchor: 'start', of: box.ref });
          case 'right':
            return text(words, [px - 1.2, py + 0.9], size, { anchor: 'end', of: box.ref });
          case 'top':
            return text(words, [px, py + 3.2], size, { of: box.ref });
          default:
            return text(words, [px, py - 1.2], size, { of: box.ref });
        }
      });
    return [...names, ...pinTexts];
  });
  const values = new Map(netlist.parts.map((part) => [part.ref, shownValue(part)]));
  const terminals = layout.terminals.flatMap(({ ref, names }) =>
    names.map((point) => text(ref, point, SIZE.ref, { anchor: 'start', isBold: true, of: ref })),
  );
  return [
    ...boxes,
    ...layout.symbols.flatMap((symbol) => symbolTexts(symbol, values.get(symbol.ref) ?? '')),
    ...terminals,
  ];
}

/** A part's value as pictures write it: Ω and µ. */
export const shownValue = ({ value }: Pick<Part, 'value'>): string =>
  value.replace('Ohm', 'Ω').replace('uF', 'µF');

function symbolTexts({ ref, at, to, label }: TwoPin, value: string): Text[] {
  const step = STEP[to];
  const x = at[0] + (step[0] * SYMBOL_MM) / 2;
  const y = at[1] + (step[1] * SYMBOL_MM) / 2;
  if (label === 'top' || label === 'bottom') {
    const base = label === 'top' ? y - 2.6 : y + 5;
    return [text(`${ref} ${value}`, [x, base], SIZE.value, { of: ref })];
  }
  const side =
    label === 'left' ? { x: x - 3.2, anchor: 'end' as const } : { x: x + 3.2, anchor: 'start' as const };
  return [
    text(ref, [side.x, y - 0.3], SIZE.ref, { anchor: side.anchor, isBold: true, of: ref }),
    text(value, [side.x, y + 3], SIZE.value, { anchor: side.anchor, of: ref }),
  ];
}

const netTexts = ({ labels }: Layout): Text[] =>
  labels.map(({ net, at }) => text(net, at, SIZE.net, { anchor: 'start', of: net }));

/** How wide a line of text is at most, mm: measured by eye on a wide sans-serif (common practice, no source). */
export const textWidth = ({ words, size, isBold }: Text): number =>
  [...words].reduce((sum, letter) => sum + (/[A-Z0-9Ω_+]/.test(letter) ? 0.72 : 0.56), 0) *
  size *
  (isBold ? 1.1 : 1);
