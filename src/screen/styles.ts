import { styleText } from 'node:util';
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

type Code = Extract<Parameters<typeof styleText>[0], string>;

/** A text with the codes of its style before and after it. */
export function styled(text: string, { color, backgroundColor, bold, dimColor, underline }: Style): string {
  const codes = [
    ...(bold ? ['bold'] : []),
    ...(dimColor ? ['dim'] : []),
    ...(underline ? ['underline'] : []),
    ...(color === undefined ? [] : [color]),
    ...(backgroundColor === undefined
      ? []
      : [`bg${backgroundColor[0]!.toUpperCase()}${backgroundColor.slice(1)}`]),
  ] as Code[];
  // What the terminal can do was asked before.
  return codes.length === 0 || text === '' ? text : styleText(codes, text, { validateStream: false });
}

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
