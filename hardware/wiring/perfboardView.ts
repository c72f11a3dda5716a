import type { Text } from './drawing.js';
import type { Point } from './layout.js';
import type { Rectangle } from './partBodies.js';
import { mm, textElement } from './picture.js';
import { type Area, isApart, textArea } from './pictureChecks.js';
import { type Hole, PITCH_MM, type Placement } from './placement.js';

/** How many times as large as it is the board is drawn. */
export const SCALE = 2.3;
/** The board's edge beyond its outer holes, as on boards of 50 x 70 mm with 18 x 24 holes. */
const EDGE_MM = { x: 5.8, y: 3.4 } as const;

/** The board as one looks at it: from above, or from below with its columns from right to left. */
export interface View {
  readonly isFromBelow: boolean;
  readonly area: Area;
  /** Where a hole is on the page. */
  readonly at: (hole: Hole) => Point;
  /** Where a rectangle of the board is on the page. */
  readonly areaOf: (what: string, rectangle: Rectangle) => Area;
}

/** @param origin the upper left corner of the board on the page, mm */
export function viewOf(
  { rows, columns }: Pick<Placement, 'rows' | 'columns'>,
  [left, top]: Point,
  isFromBelow: boolean,
): View {
  const width = ((columns - 1) * PITCH_MM + 2 * EDGE_MM.x) * SCALE;
  const height = ((rows - 1) * PITCH_MM + 2 * EDGE_MM.y) * SCALE;
  const x = (across: number) => {
    const fromLeft = (EDGE_MM.x + across) * SCALE;
    return left + (isFromBelow ? width - fromLeft : fromLeft);
  };
  const y = (down: number) => top + (EDGE_MM.y + down) * SCALE;
  return {
    isFromBelow,
    area: { what: 'the board', left, top, right: left + width, bottom: top + height },
    at: ({ row, column }) => [x(column * PITCH_MM), y(row * PITCH_MM)],
    areaOf: (what, rectangle) => {
      const [a, b] = [x(rectangle.left), x(rectangle.right)];
      return {
        what,
        left: Math.min(a, b),
        right: Math.max(a, b),
        top: y(rectangle.top),
        bottom: y(rectangle.bottom),
      };
    },
  };
}

/** A line of text that may stand upright, to be read from the right. */
export interface Lettering extends Text {
  readonly isTurned: boolean;
}

export const level = (text: Text): Lettering => ({ ...text, isTurned: false });
export const turned = (text: Text): Lettering => ({ ...text, isTurned: true });

/** The room that it takes on the page. */
export function letteringArea(text: Lettering): Area {
  const area = textArea(text);
  if (!text.isTurned) return area;
  const { x, y } = text;
  return {
    what: area.what,
    left: x + (area.top - y),
    right: x + (area.bottom - y),
    top: y - (area.right - x),
    bottom: y - (area.left - x),
  };
}

export const letteringElement = (text: Lettering): string =>
  text.isTurned
    ? textElement(text).replace('<text ', `<text transform="rotate(-90 ${mm(text.x)} ${mm(text.y)})" `)
    : textElement(text);

/** The first of some places for a text at which it lies on nothing, or null. */
export const firstFree = (places: readonly Lettering[], taken: readonly Area[]): Lettering | null =>
  places.find((place) => taken.every((area) => isApart(letteringArea(place), area))) ?? null;

/** The room around a point. */
export const around = (what: string, [x, y]: Point, reach: number): Area => ({
  what,
  left: x - reach,
  right: x + reach,
  top: y - reach,
  bottom: y + reach,
});

/** Texts that lie on each other, on what is drawn, or off the page's own part; one sentence each. */
export function crowded(texts: readonly Lettering[], taken: readonly Area[]): string[] {
  const areas = texts.map(letteringArea);
  return areas.flatMap((area, index) =>
    [...areas.slice(index + 1), ...taken]
      .filter((other) => !isApart(area, other))
      .map((other) => `${area.what} lies on ${other.what}`),
  );
}
