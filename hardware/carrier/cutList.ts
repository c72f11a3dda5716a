/** A piece of wood to cut, mm. */
export interface CutPiece {
  readonly number: number;
  readonly name: string;
  readonly long: number;
  readonly wide: number;
  readonly thick: number;
  readonly note?: string;
}

/** Beyond the tiles: room for the box and its cable at one end, for straps along both sides. */
const BASE_BEYOND_MM = { long: 120, wide: 20 } as const;
const STRIP_MM = { wide: 20, high: 12 } as const;
/** The strip in the middle ends short of both edges: there the trunk goes from one row to the other. */
const STRIP_SHORT_MM = 40;

/** The board that carries it all, for slots that take `long` x `wide` mm. */
export const baseBoard = (long: number, wide: number): CutPiece => ({
  number: 1,
  name: 'base board',
  long: long + BASE_BEYOND_MM.long,
  wide: wide + BASE_BEYOND_MM.wide,
  thick: 9,
});

/** What is cut for the plywood variant of `long` x `wide` mm. */
export function cutList(long: number, wide: number): CutPiece[] {
  const board = (name: string, thick: number): CutPiece => ({ number: 1, name, long, wide, thick });
  const strip = { wide: STRIP_MM.wide, thick: STRIP_MM.high };
  return [
    board('guide', 12),
    board('ledge', 8),
    board('floor', 9),
    { ...strip, number: 2, name: 'strips', long, note: 'under the long edges of the floor' },
    {
      ...strip,
      number: 1,
      name: 'strip',
      long: long - 2 * STRIP_SHORT_MM,
      note: `between the rows, ${STRIP_SHORT_MM} short of each end for the trunk`,
    },
    baseBoard(long, wide),
  ];
}

/** Screws by size and number, and where they go. */
export interface Screws {
  readonly number: number;
  readonly what: string;
}

/** From above 29 mm of boards, then the strip and 4 of the base; from below the 9 of the base and 7 of the strip. */
export const PLYWOOD_SCREWS: readonly Screws[] = [
  {
    number: 6,
    what: 'wood screws 3 x 45: from above through guide, ledge and floor into strips and base board',
  },
  { number: 10, what: 'wood screws 3 x 16, countersunk: from below through the base board into the strips' },
];

/** A printed tile has one in each corner, 3 x 16. */
const SCREWS_A_TILE = 4;

/** What a variant is made for. */
export interface Cup {
  readonly name: string;
  readonly rim: number;
  readonly long: number;
  readonly wide: number;
  readonly tiles: number;
}

/** Mesh for a lid: a square from which its round is cut, and 50 x 65 mm for the finger beside it. */
const meshOf = ({ rim }: Cup): string => `${rim + 18} x ${rim + 3 + 65}`;

/** What differs between the variants, for ten slots: a table in Markdown. */
export function variantTable(cups: readonly Cup[]): string {
  const columns = cups.flatMap((cup) => [
    { cup, isPrinted: true },
    { cup, isPrinted: false },
  ]);
  type Column = (typeof columns)[number];
  const row = (name: string, cell: (column: Column) => string | number) =>
    `| ${name} | ${columns.map(cell).join(' | ')} |`;
  const [short, long] = PLYWOOD_SCREWS.map(({ number }) => number).reverse();
  return [
    row('for ten slots', ({ cup, isPrinted }) => `${cup.name}, ${isPrinted ? 'printed' : 'plywood'}`),
    `|---|${columns.map(() => '---|').join('')}`,
    row('tiles', ({ cup, isPrinted }) => (isPrinted ? cup.tiles : '-')),
    row('guide, ledge, floor: one each', ({ cup, isPrinted }) =>
      isPrinted ? '-' : `${cup.long} x ${cup.wide}`,
    ),
    row('base board, 9 thick', ({ cup }) => {
      const base = baseBoard(cup.long, cup.wide);
      return `${base.long} x ${base.wide}`;
    }),
    row('wood screws 3 x 16', ({ cup, isPrinted }) => (isPrinted ? cup.tiles * SCREWS_A_TILE : short!)),
    row('wood screws 3 x 45', ({ isPrinted }) => (isPrinted ? '-' : long!)),
    row('dishes, posts: printed', () => '10, 10'),
    row('mesh for each lid', ({ cup }) => meshOf(cup)),
  ].join('\n');
}
