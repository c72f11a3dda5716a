/** A board of the plywood variant, from below, as `plywood()` of `carrier.scad` lays them out. */
export interface Board {
  readonly name: string;
  readonly thickness: string;
}

export const BOARDS: readonly Board[] = [
  { name: 'floor: below, on strips 12 mm high that leave room for the cable', thickness: '9 mm' },
  { name: 'ledge: in the middle, its holes take the dishes', thickness: '8 mm' },
  { name: 'guide: on top, its holes take the rims of the cups', thickness: '12 mm' },
];

const MARGIN_MM = 15;
const HEAD_MM = 32;
const LETTER_MM = 6;
const SCALE_MM = 100;

/**
 * The drawing to cut from, 1:1: what OpenSCAD drew, as bare lines, with the boards' names and a line to measure.
 *
 * @param drawn the SVG file that OpenSCAD wrote for `part="plywood"`
 * @param cup the cup it was drawn for
 */
export function plywoodSheet(drawn: string, cup: string): string {
  const [, width, height] = (/<svg width="([\d.]+)mm" height="([\d.]+)mm"/.exec(drawn) ?? []).map(Number);
  const [, path] = /<path d="([^"]+)"/.exec(drawn) ?? [];
  if (!width || !height || !path) throw new Error('this is not a drawing by OpenSCAD');
  const gap = 20;
  const board = (height - (BOARDS.length - 1) * gap) / BOARDS.length;
  const sheet = { width: width + 2 * MARGIN_MM, height: height + HEAD_MM + MARGIN_MM };
  const text = (words: string, y: number) =>
    `<text x="0" y="${round(y)}" font-size="${LETTER_MM}" font-family="Helvetica, Arial, 'DejaVu Sans', sans-serif">${words}</text>`;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${round(sheet.width)}mm" height="${round(sheet.height)}mm" viewBox="${-MARGIN_MM} ${round(-height - HEAD_MM)} ${round(sheet.width)} ${round(sheet.height)}">`,
    `<rect x="${-MARGIN_MM}" y="${round(-height - HEAD_MM)}" width="${round(sheet.width)}" height="${round(sheet.height)}" fill="#fff"/>`,
    text(
      `Plywood carrier for ${cup} cups, ${round(width)} x ${round(board)} mm. Print at 100 %: this line is ${SCALE_MM} mm.`,
      -height - 20,
    ),
    `<path d="M0 ${round(-height - 15)}H${SCALE_MM}M0 ${round(-height - 17)}V${round(-height - 13)}M${SCALE_MM} ${round(-height - 17)}V${round(-height - 13)}" stroke="#000" stroke-width="0.4"/>`,
    ...BOARDS.map(({ name, thickness }, index) =>
      text(`${name}, ${thickness} thick`, -(index * (board + gap)) - board - 3),
    ),
    ...holesIn(path).flatMap(({ x, y, diameter }, index, holes) => [
      `<path d="M${round(x - CROSS_MM)} ${round(y)}h${2 * CROSS_MM}M${round(x)} ${round(y - CROSS_MM)}v${2 * CROSS_MM}" stroke="#000" stroke-width="0.15"/>`,
      // Said once for each size, on the floor, where there is room.
      ...(diameter < DRILLED_MM_MAX && holes.findLastIndex((each) => each.diameter === diameter) === index
        ? [label(`drill ${diameter}, all of this size`, x + diameter / 2 + 2, y + 1.5)]
        : []),
    ]),
    `<path fill="none" stroke="#000" stroke-width="0.3" d="${path.trim().replaceAll(/\s+/g, ' ')}"/>`,
    '</svg>',
    '',
  ].join('\n');
}

/** Arms of the cross on which a drill or a pair of compasses is set. */
const CROSS_MM = 3;
/** Smaller holes are drilled, larger ones sawn. */
const DRILLED_MM_MAX = 30;
/** Lines of OpenSCAD's circles cut their corners by less. */
const DIAMETER_STEP_MM = 0.5;
const LABEL_MM = 3.5;

const label = (words: string, x: number, y: number) =>
  `<text x="${round(x)}" y="${round(y)}" font-size="${LABEL_MM}" font-family="Helvetica, Arial, 'DejaVu Sans', sans-serif">${words}</text>`;

/** The holes of a drawing: the outlines that are as high as wide, and that is not a whole board. */
function holesIn(path: string): { x: number; y: number; diameter: number }[] {
  const holes = path
    .split('z')
    .map((outline) =>
      [...outline.matchAll(/(-?[\d.]+),(-?[\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)] as const),
    )
    .filter((points) => points.length > 0)
    .flatMap((points) => {
      const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
      const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
      if (Math.abs(right - left - (bottom - top)) > DIAMETER_STEP_MM) return [];
      const diameter = Math.round((right - left) / DIAMETER_STEP_MM) * DIAMETER_STEP_MM;
      return [{ x: (left + right) / 2, y: (top + bottom) / 2, diameter }];
    });
  return holes.sort((a, b) => a.y - b.y || b.x - a.x);
}

const round = (mm: number): number => Math.round(mm * 100) / 100;
