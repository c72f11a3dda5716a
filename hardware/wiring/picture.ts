import { type Drawing, makeDrawing, type Segment, type Text } from './drawing.js';
import { layoutOf, PAGE_MM, type Point, SYMBOL_MM, type TwoPin } from './layout.js';
import type { Netlist, PartKind } from './netlist.js';

/** Nets drawn thick: what feeds. */
const FEEDS = /^(?:12V|5V|GND)/;
const LINE_MM = { feed: 0.6, signal: 0.3, part: 0.35 } as const;
const HOP_MM = 1;
const DOT_MM = 0.75;
const SCREW_MM = 1.1;

/** The wiring picture: an SVG page, A4 lying, black on white. */
export function wiringPicture(netlist: Netlist): string {
  const drawing = makeDrawing(netlist, layoutOf(netlist.slots));
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${PAGE_MM.width}mm" height="${PAGE_MM.height}mm" viewBox="0 0 ${PAGE_MM.width} ${PAGE_MM.height}" font-family="Helvetica, Arial, 'DejaVu Sans', sans-serif">`,
    `<rect width="${PAGE_MM.width}" height="${PAGE_MM.height}" fill="#fff"/>`,
    `<g fill="none" stroke="#000" stroke-linejoin="round">`,
    ...drawing.segments.map((segment) => wire(segment, drawing.segments)),
    '</g>',
    ...junctions(drawing).map(([x, y]) => `<circle cx="${mm(x)}" cy="${mm(y)}" r="${DOT_MM}"/>`),
    `<g fill="none" stroke="#000" stroke-width="${LINE_MM.part}">`,
    ...drawing.layout.boxes.map(
      ({ ref, x, y, width, height }) =>
        `<rect data-part="${ref}" x="${mm(x)}" y="${mm(y)}" width="${mm(width)}" height="${mm(height)}" rx="0.8"/>`,
    ),
    ...drawing.layout.symbols.map((symbol) => symbolShape(netlist, symbol)),
    '</g>',
    ...drawing.layout.terminals.flatMap(({ ref, pins }) =>
      Object.values(pins).map(
        ([x, y]) =>
          `<circle data-part="${ref}" cx="${mm(x)}" cy="${mm(y)}" r="${SCREW_MM}" fill="#fff" stroke="#000" stroke-width="${LINE_MM.part}"/>`,
      ),
    ),
    ...[...drawing.texts, ...frameTexts(netlist)].map(textElement),
    ...legend(),
    '</svg>',
    '',
  ].join('\n');
}

/** A length for an SVG attribute. */
export const mm = (value: number): string => String(Math.round(value * 100) / 100);

/** A piece of wire; one that goes down hops over wires of other nets that it crosses. */
function wire({ net, from, to }: Segment, all: readonly Segment[]): string {
  const width = FEEDS.test(net) ? LINE_MM.feed : LINE_MM.signal;
  const step = Math.sign(to[1] - from[1]);
  const hops = step === 0 ? [] : crossings({ net, from, to }, all).sort((a, b) => (a - b) * step);
  const arcs = hops.map(
    (y) =>
      `V${mm(y - step * HOP_MM)}A${HOP_MM} ${HOP_MM} 0 0 ${step > 0 ? 1 : 0} ${mm(from[0])} ${mm(y + step * HOP_MM)}`,
  );
  return `<path data-net="${net}" stroke-width="${width}" d="M${mm(from[0])} ${mm(from[1])}${arcs.join('')}L${mm(to[0])} ${mm(to[1])}"/>`;
}

/** Where a piece that goes down crosses pieces of other nets that go across. */
function crossings({ net, from, to }: Segment, all: readonly Segment[]): number[] {
  const [top, bottom] = [Math.min(from[1], to[1]), Math.max(from[1], to[1])];
  const found = all
    .filter((other) => other.net !== net && other.from[1] === other.to[1])
    .filter((other) => {
      const [left, right] = [Math.min(other.from[0], other.to[0]), Math.max(other.from[0], other.to[0])];
      return left < from[0] && from[0] < right && top < other.from[1] && other.from[1] < bottom;
    })
    .map((other) => other.from[1]);
  return [...new Set(found)];
}

/** Points where three pieces of a net or more meet. */
function junctions({ segments }: Drawing): Point[] {
  const points = new Map(
    segments.flatMap(({ net, from, to }) =>
      [from, to].map((point) => [`${net} ${point}`, { net, point }] as const),
    ),
  );
  return [...points.values()]
    .filter(
      ({ net, point }) =>
        armsAt(
          segments.filter((segment) => segment.net === net),
          point,
        ) > 2,
    )
    .map(({ point }) => point);
}

/** In how many directions wire leaves a point. */
function armsAt(segments: readonly Segment[], [x, y]: Point): number {
  const arms = new Set<string>();
  for (const { from, to } of segments) {
    const across = from[1] === to[1];
    if (across ? from[1] !== y : from[0] !== x) continue;
    const [a, b, at] = across ? [from[0], to[0], x] : [from[1], to[1], y];
    if (Math.min(a, b) > at || Math.max(a, b) < at) continue;
    if (Math.min(a, b) < at) arms.add(across ? 'left' : 'up');
    if (Math.max(a, b) > at) arms.add(across ? 'right' : 'down');
  }
  return arms.size;
}

/** The usual symbols, along x from 0 to SYMBOL_MM; turned into place by the caller. */
const SHAPES: Partial<Record<PartKind, string>> = {
  resistor: 'M0 0H2M8 0H10M2 -1.3H8V1.3H2Z',
  fuse: 'M0 0H10M2 -1.3H8V1.3H2Z',
  'resettable-fuse': 'M0 0H10M2 -1.3H8V1.3H2ZM2 2.4L3.6 2.4L6.8 -2.4',
  diode: 'M0 0H3.4M6.6 0H10M3.4 -1.7V1.7L6.6 0ZM6.6 -1.7V1.7',
  led: 'M0 0H3.4M6.6 0H10M3.4 -1.7V1.7L6.6 0ZM6.6 -1.7V1.7M4.2 2.4l1 1.6M5.8 2.4l1 1.6M5.2 3.2V4H4.4M6.8 3.2V4H6',
  ceramic: 'M0 0H4.4M5.6 0H10M4.4 -2V2M5.6 -2V2',
  capacitor: 'M0 0H4.4M5.6 0H10M4.4 -2V2M5.6 -2V2M2.6 -1.8h1.2M3.2 -2.4v1.2',
  button: 'M0 0H3.2M6.8 0H10M3.2 -1.4H6.8M5 -1.4V-2.8M4 -2.8H6',
  piezo: 'M0 0H3.6M6.4 0H10M3.6 -2V2M6.4 -2V2M4.3 -2.6H5.7V2.6H4.3Z',
  'coin-cell': 'M0 0H4.4M5.6 0H10M4.4 -2.4V2.4M5.6 -1.2V1.2M2.6 -1.8h1.2M3.2 -2.4v1.2',
};
const TURN = { right: 0, down: 90, left: 180, up: 270 } as const;

function symbolShape(netlist: Netlist, { ref, at, to }: TwoPin): string {
  const kind = netlist.parts.find((part) => part.ref === ref)?.kind;
  const shape = (kind && SHAPES[kind]) ?? `M0 0H${SYMBOL_MM}`;
  return `<path data-part="${ref}" transform="translate(${mm(at[0])} ${mm(at[1])}) rotate(${TURN[to]})" d="${shape}"/>`;
}

const escapeXml = (words: string): string =>
  words.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');

/** A line of text as SVG. */
export const textElement = ({ words, x, y, size, anchor, isBold }: Text): string =>
  `<text x="${mm(x)}" y="${mm(y)}" font-size="${size}"${anchor === 'start' ? '' : ` text-anchor="${anchor}"`}${isBold ? ' font-weight="bold"' : ''}>${escapeXml(words)}</text>`;

const line = (words: string, x: number, y: number, size = 2.5, isBold = false): Text => ({
  words,
  x,
  y,
  size,
  anchor: 'start',
  isBold,
  of: null,
});

/** Title, remarks and the words of the legend. */
export function frameTexts({ slots, file }: Netlist): Text[] {
  return [
    line(`stillwarm carrier, ${slots} ${slots === 1 ? 'slot' : 'slots'}: wiring`, 10, 13, 5, true),
    line('Nothing here has run on physical hardware yet.', 10, 18),
    line('on the board: measure it', 129, 41.9),
    line(
      'One cable of three cores past all slots, the board at one end, short leads to the probes: no star.',
      90,
      146.5,
    ),
    line('TO-92, flat face towards you, legs down: GND, DQ, VDD from the left.', 90, 196),
    line(
      '12 V only through a certified adapter with its fuse in the plug; nothing else is joined to the vehicle.',
      90,
      200.5,
    ),
    line(`Drawn from ${file} by npm run drawings.`, 90, 205),
    line('Legend', 10, 172, 2.9, true),
    line('joined', 20, 177),
    line('crosses, not joined', 20, 182.2),
    line('thick: 12 V, 5 V, ground', 20, 187.2),
    line('thin: signals', 20, 191.4),
    line('screw of a terminal', 20, 195.6),
    line('PD2 (D2): pin of the chip, and its', 10, 200),
    line('print on common boards', 10, 203.5),
    line('C2 sits beside U2, C3 beside X1. Where all parts sit: perfboard.svg', 190, 205),
  ];
}

function legend(): string[] {
  return [
    '<g fill="none" stroke="#000" stroke-width="0.3">',
    '<path d="M10 176H18M14 173.5V178.5"/><circle cx="14" cy="176" r="0.75" fill="#000"/>',
    '<path d="M10 181.4H18M14 178.9V180.4A1 1 0 0 1 14 182.4V183.9"/>',
    '<path d="M10 186.4H18" stroke-width="0.6"/><path d="M10 190.6H18"/>',
    '<path d="M10 194.8H18"/><circle cx="14" cy="194.8" r="1.1" fill="#fff"/>',
    '</g>',
  ];
}
