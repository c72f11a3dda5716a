import ansiEscapes from 'ansi-escapes';
import wrapAnsi from 'wrap-ansi';
import type { Theme } from './controls.js';
import type { Line, Tone } from './line.js';
import type { Size } from './size.js';
import { onPaper, STYLES, type Style, styled } from './styles.js';

/** Lines that are ready, and how they are to look. */
export interface Picture {
  readonly lines: readonly Line[];
  /** What may be drawn on. */
  readonly size: Size;
  /** Whether colours may be sent. */
  readonly colour: boolean;
  readonly theme: Theme;
}

/** A terminal that is drawn on. */
export interface Sheet {
  /** Draws the rows that are not there yet, in one piece. */
  show(picture: Picture): void;
  /** Whatever stands there now: the next picture is drawn whole, and all else is wiped. */
  forget(): void;
}

export function sheetOn(stdout: NodeJS.WritableStream): Sheet {
  /** Null when nobody knows what stands there. */
  let shown: readonly string[] | null = null;
  return {
    show(picture) {
      const rows = rowsOf(picture);
      let changes = '';
      for (let row = 0; row < Math.max(rows.length, shown?.length ?? 0); row += 1) {
        const text = rows[row] ?? '';
        // The rest of the row goes first: behind a row as wide as the window the cursor still stands on its last letter.
        if (shown === null || text !== (shown[row] ?? ''))
          changes += ansiEscapes.cursorTo(0, row) + ansiEscapes.eraseEndLine + text;
      }
      if (shown === null) changes += ansiEscapes.cursorTo(0, rows.length) + ansiEscapes.eraseDown;
      shown = rows;
      if (changes !== '') stdout.write(changes);
    },
    forget() {
      shown = null;
    },
  };
}

/** What is written into each row: no wider than the window, and with nothing behind the last of them. */
export function rowsOf({ lines, size, colour, theme }: Picture): readonly string[] {
  const style = colour ? STYLES[theme] : null;
  const drawn = colour ? onPaper(lines, theme, size.columns, size.rows) : lines;
  return drawn.slice(0, Math.max(1, size.rows)).map((line) => cut(written(line, style), size.columns));
}

const written = (line: Line, style: Readonly<Record<Tone, Style>> | null): string =>
  line.map(({ text, tone }) => (style === null ? text : styled(text, style[tone]))).join('');

/** Letters that take two columns; lines are as wide as the window without them. */
const WIDE =
  /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff01-\uff60\uffe0-\uffe6]|[\u{1f300}-\u{1faff}\u{20000}-\u{3fffd}]/u;
const cut = (text: string, columns: number): string =>
  WIDE.test(text)
    ? (wrapAnsi(text, columns, { hard: true, trim: false, wordWrap: false }).split('\n')[0] ?? '')
    : text;
