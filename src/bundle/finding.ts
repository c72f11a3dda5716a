/** Something in a bundle that is not as it must be. */
export interface Finding {
  readonly file: string;
  /** Counted from 1; null for the file as a whole. */
  readonly line: number | null;
  readonly column: string | null;
  /** What is wrong there; goes on after the place. */
  readonly what: string;
}

export const inFile = (file: string, what: string): Finding => ({ file, line: null, column: null, what });
export const onLine = (file: string, line: number, what: string, column: string | null = null): Finding => ({
  file,
  line,
  column,
  what,
});

/** A finding in one sentence. */
export const sentence = ({ file, line, column, what }: Finding): string =>
  `${file}${line === null ? '' : `, line ${line}`}${column === null ? '' : `, column ${column}`}: ${what}.`;
