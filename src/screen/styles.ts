import type { Theme } from './controls.js';
import { type Line, span, type Tone, widthOf } from './line.js';

/** How a piece of text looks; an addition to what it says, never in place of it. */
export interface Style {
  readonly color?: string;
  readonly backgroundColor?: string;
  readonly bold?: boolean;
  readonly dimColor?: boolean;
  readonly underline?: boolean;
}

/** Nothing dim and no colour on white: in the sun only the darkest on the lightest can be read. */
const PAPER: Style = { color: 'black', backgroundColor: 'whiteBright' };
const INK: Style = { color: 'whiteBright', backgroundColor: 'black', bold: true };

export const STYLES: Readonly<Record<Theme, Readonly<Record<Tone, Style>>>> = {
  shade: {
    plain: {},
    title: { bold: true },
    quiet: { dimColor: true },
    good: { color: 'green' },
    watch: { color: 'yellow' },
    alarm: { color: 'red', bold: true },
  },
  sun: {
    plain: PAPER,
    title: { ...PAPER, bold: true },
    quiet: PAPER,
    good: PAPER,
    watch: { ...PAPER, bold: true, underline: true },
    alarm: INK,
  },
};

/** The lines as a theme wants them: in the sun all of the window is white, also where nothing stands. */
export function onPaper(
  lines: readonly Line[],
  theme: Theme,
  columns: number,
  rows: number,
): readonly Line[] {
  if (theme === 'shade') return lines;
  const blank: Line[] = Array.from({ length: Math.max(0, rows - lines.length) }, () => []);
  return [...lines, ...blank].map((line) => {
    const left = columns - widthOf(line);
    return left > 0 ? [...line, span(' '.repeat(left))] : line;
  });
}
