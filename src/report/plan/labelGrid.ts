import { Refusal } from '../../units/refusal.js';

export const PAPERS = { a4: [210, 297], letter: [215.9, 279.4] } as const;
export type Paper = keyof typeof PAPERS;

/** Labels on a sheet, millimetres; sizes are those of common sheets (common practice, no source). */
export interface LabelGrid {
  readonly paper: Paper;
  readonly columns: number;
  readonly rows: number;
  readonly label: readonly [width: number, height: number];
  /** From the left and upper edge of the sheet to the first label. */
  readonly margin: readonly [left: number, top: number];
  /** Between labels. */
  readonly gap: readonly [across: number, down: number];
}

/** The sheet that is taken for a paper when nothing else is said. */
export const DEFAULT_GRIDS: Readonly<Record<Paper, LabelGrid>> = {
  a4: { paper: 'a4', columns: 3, rows: 8, label: [70, 37], margin: [0, 0.5], gap: [0, 0] },
  letter: { paper: 'letter', columns: 3, rows: 10, label: [66.7, 25.4], margin: [4.75, 12.7], gap: [3.2, 0] },
};

/** Printers cut and shift by less. */
const TOLERANCE_MM = 0.6;

/** A grid that fits its paper. @throws {Refusal} when it does not */
export function checkedGrid(grid: LabelGrid): LabelGrid {
  const { paper, columns, rows, label, margin, gap } = grid;
  const ends = [columns, rows].map(
    (count, axis) => margin[axis]! + count * label[axis]! + (count - 1) * gap[axis]!,
  );
  for (const [axis, end] of ends.entries())
    if (end > PAPERS[paper][axis]! + TOLERANCE_MM)
      throw new Refusal(
        `${axis === 0 ? `${columns} columns` : `${rows} rows`} of such labels end ${end.toFixed(1)} mm from the ${axis === 0 ? 'left' : 'upper'} edge, and ${paper === 'a4' ? 'A4' : 'Letter'} has ${PAPERS[paper][axis]} mm; give --grid, --label, --margin and --gap as the sheet has them.`,
      );
  return grid;
}
