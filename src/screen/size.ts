/** The window, in characters. */
export interface Size {
  readonly columns: number;
  readonly rows: number;
}

export const COLUMNS_MIN = 60;
export const ROWS_MIN = 18;
/** A window with fewer lines is drawn without what can be spared. */
const ROWS_FULL = 23;

/** What may be drawn on: one line less than the window, or the whole terminal would be wiped at each frame. */
export const canvas = ({ columns, rows }: Size): Size => ({ columns, rows: rows - 1 });

/** Whether there is room for all of it. */
export const isFull = ({ rows }: Size): boolean => rows >= ROWS_FULL;
