import { type Drawing, type Segment, type Text, textWidth } from './drawing.js';
import { PAGE_MM, type Point, SYMBOL_MM } from './layout.js';
import { type Netlist, netOf } from './netlist.js';

/** A rectangle, mm, with what it is. */
export interface Area {
  readonly what: string;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** Half the width of a symbol's body, and what stays free around texts. */
const SYMBOL_HALF_MM = 1.8;
const TEXT_GAP_MM = 0.3;
const PAGE_MARGIN_MM = 5;

/**
 * All that makes a drawing differ from its netlist or hard to read, one sentence each: wires that join other pins
 * than the netlist, run over each other, through parts or texts; texts over each other or off the page.
 *
 * @param more texts that are drawn beside those of the parts and nets
 */
export function checkPicture(netlist: Netlist, drawing: Drawing, more: readonly Text[] = []): string[] {
  const texts = [...drawing.texts, ...more];
  return [
    ...joinedWrong(netlist, drawing),
    ...touchingWires(drawing.segments),
    ...wiresThrough(drawing, texts),
    ...crowdedTexts(drawing, texts),
  ];
}

const isOn = ([x, y]: Point, { from, to }: Segment): boolean =>
  Math.min(from[0], to[0]) <= x &&
  x <= Math.max(from[0], to[0]) &&
  Math.min(from[1], to[1]) <= y &&
  y <= Math.max(from[1], to[1]);

/** The wires of each net join its pins and no other. */
function joinedWrong(netlist: Netlist, { segments, pins }: Drawing): string[] {
  const undrawn = netlist.parts.flatMap(({ ref, pins: own }) =>
    own.map(({ name }) => `${ref}.${name}`).filter((end) => !pins.has(end)),
  );
  const strangers = [...new Set(segments.map(({ net }) => net))].filter((name) =>
    netlist.nets.every((net) => net.name !== name),
  );
  const loose = netlist.nets.flatMap((net) => {
    const own = segments.filter((segment) => segment.net === net.name);
    const whole = piecesFrom(own);
    return net.ends
      .filter((end) => pins.has(end) && !whole.some((segment) => isOn(pins.get(end)!, segment)))
      .map((end) => `${end} is not drawn joined to ${net.name}`);
  });
  const wrong = [...pins].flatMap(([end, point]) =>
    segments
      .filter((segment) => isOn(point, segment) && segment.net !== netOf(netlist, end)?.name)
      .map(({ net }) => `a wire of ${net} is drawn to ${end}, which is not of it`),
  );
  return [
    ...undrawn.map((end) => `${end} is not in the picture`),
    ...strangers.map((name) => `the picture has wires of ${name}, the netlist has not`),
    ...loose,
    ...wrong,
  ];
}

/** Of a net's pieces those that hang together with the first. */
function piecesFrom(own: readonly Segment[]): Segment[] {
  const joined = own.slice(0, 1);
  let rest = own.slice(1);
  for (let found = joined; found.length > 0; ) {
    found = rest.filter((segment) => joined.some((other) => touch(segment, other) !== null));
    joined.push(...found);
    rest = rest.filter((segment) => !found.includes(segment));
  }
  return joined;
}

/** Where an end of one piece lies on the other, or null. */
const touch = (a: Segment, b: Segment): Point | null =>
  [a.from, a.to].find((point) => isOn(point, b)) ?? [b.from, b.to].find((point) => isOn(point, a)) ?? null;

/** Wires of two nets may cross, but an end of one on the other would look joined. */
function touchingWires(segments: readonly Segment[]): string[] {
  return segments.flatMap((a, index) =>
    segments
      .slice(index + 1)
      .filter((b) => a.net !== b.net && touch(a, b) !== null)
      .map((b) => `wires of ${a.net} and ${b.net} touch at ${touch(a, b)?.join(',')}`),
  );
}

const areaOf = (segment: Segment): Area => ({
  what: `a wire of ${segment.net}`,
  left: Math.min(segment.from[0], segment.to[0]),
  right: Math.max(segment.from[0], segment.to[0]),
  top: Math.min(segment.from[1], segment.to[1]),
  bottom: Math.max(segment.from[1], segment.to[1]),
});

export const isApart = (a: Area, b: Area): boolean =>
  a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top;

/** Bodies of parts, without the pins at their edges. */
function bodies({ layout }: Drawing): Area[] {
  const boxes = layout.boxes.map(({ ref, x, y, width, height }) => ({
    what: ref,
    left: x + 0.1,
    right: x + width - 0.1,
    top: y + 0.1,
    bottom: y + height - 0.1,
  }));
  const symbols = layout.symbols.map(({ ref, at: [x, y], to }) => {
    const length = to === 'left' || to === 'up' ? -SYMBOL_MM : SYMBOL_MM;
    const isAcross = to === 'left' || to === 'right';
    const [a, b] = isAcross ? [x, x + length] : [y, y + length];
    const [from, until] = [Math.min(a, b) + 0.1, Math.max(a, b) - 0.1];
    return isAcross
      ? { what: ref, left: from, right: until, top: y - SYMBOL_HALF_MM, bottom: y + SYMBOL_HALF_MM }
      : { what: ref, left: x - SYMBOL_HALF_MM, right: x + SYMBOL_HALF_MM, top: from, bottom: until };
  });
  return [...boxes, ...symbols];
}

/** The room a line of text takes; letters reach 0.75 of its size above the base line and 0.2 below. */
export function textArea(text: Text): Area {
  const width = textWidth(text);
  const left = text.anchor === 'start' ? text.x : text.anchor === 'end' ? text.x - width : text.x - width / 2;
  return {
    what: `"${text.words}"`,
    left: left - TEXT_GAP_MM,
    right: left + width + TEXT_GAP_MM,
    top: text.y - 0.75 * text.size,
    bottom: text.y + 0.2 * text.size,
  };
}

function wiresThrough(drawing: Drawing, texts: readonly Text[]): string[] {
  const areas = [...bodies(drawing), ...texts.map(textArea)];
  return drawing.segments
    .map(areaOf)
    .flatMap((wire) =>
      areas.filter((area) => !isApart(wire, area)).map((area) => `${wire.what} runs through ${area.what}`),
    );
}

/** Texts over texts, over parts they do not name, or off the page. */
function crowdedTexts(drawing: Drawing, texts: readonly Text[]): string[] {
  const areas = texts.map((text) => ({ text, area: textArea(text) }));
  const overTexts = areas.flatMap(({ area }, index) =>
    areas
      .slice(index + 1)
      .filter((other) => !isApart(area, other.area))
      .map((other) => `${area.what} and ${other.area.what} overlap`),
  );
  const overParts = areas.flatMap(({ text, area }) =>
    bodies(drawing)
      .filter((body) => body.what !== text.of && !isApart(area, body))
      .map((body) => `${area.what} lies on ${body.what}`),
  );
  const off = areas
    .filter(
      ({ area }) =>
        area.left < PAGE_MARGIN_MM ||
        area.top < PAGE_MARGIN_MM ||
        area.right > PAGE_MM.width - PAGE_MARGIN_MM + 2 ||
        area.bottom > PAGE_MM.height - 4,
    )
    .map(({ area }) => `${area.what} is too near the edge of the page`);
  return [...overTexts, ...overParts, ...off];
}
