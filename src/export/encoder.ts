import type { ExportRow } from './rows.js';

/** Turns rows into what a file of some format holds, piece by piece. */
export interface Encoder<Row = ExportRow> {
  /** What the file begins with. */
  head(): Uint8Array;
  /** May hold rows back until there are enough. */
  add(rows: readonly Row[]): Uint8Array;
  /** The rows held back, and what the file ends with. */
  end(): Uint8Array;
}

export const NOTHING = new Uint8Array(0);
