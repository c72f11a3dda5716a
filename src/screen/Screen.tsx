import { Box, Transform, useInput } from 'ink';
import wrapAnsi from 'wrap-ansi';
import type { Theme } from './controls.js';
import type { Press } from './entry/desk.js';
import type { Line, Tone } from './line.js';
import type { Size } from './size.js';
import { onPaper, STYLES, type Style, styled } from './styles.js';

export interface ScreenProps {
  readonly lines: readonly Line[];
  /** What may be drawn on. */
  readonly size: Size;
  /** Whether colours may be sent (NO_COLOR is honoured here: the libraries below do not). */
  readonly colour: boolean;
  readonly theme?: Theme;
  /** Whether keys can be read. */
  readonly keys: boolean;
  readonly onKey: (key: Press) => void;
}

/** Draws lines that are ready, and tells which key was pressed. Knows nothing of cups. */
export function Screen({ lines, size, colour, theme = 'shade', keys, onKey }: ScreenProps) {
  const style = colour ? STYLES[theme] : null;
  const drawn = colour ? onPaper(lines, theme, size.columns, size.rows) : lines;
  useInput(
    (input, key) => {
      // Keys that arrive back to back come as one text.
      for (const one of pressesOf(input, key)) onKey(one);
    },
    { isActive: keys },
  );
  // Every text that ink measures it remembers for ever: it measures a blank, and is given the line as it is written out.
  const blank = ' '.repeat(size.columns);
  return (
    <Box flexDirection="column" width={size.columns} height={Math.max(1, size.rows)}>
      {drawn.map((line, row) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a row of a screen is its place
        <Box key={row} height={1} flexShrink={0}>
          <Transform transform={() => cut(written(line, style), size.columns)}>{blank}</Transform>
        </Box>
      ))}
    </Box>
  );
}

/** Letters that take two columns; lines are as wide as the window without them. */
const WIDE =
  /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff01-\uff60\uffe0-\uffe6]|[\u{1f300}-\u{1faff}\u{20000}-\u{3fffd}]/u;
const cut = (text: string, columns: number): string =>
  WIDE.test(text)
    ? (wrapAnsi(text, columns, { hard: true, trim: false, wordWrap: false }).split('\n')[0] ?? '')
    : text;

const written = (line: Line, style: Readonly<Record<Tone, Style>> | null): string =>
  line.map(({ text, tone }) => (style === null ? text : styled(text, style[tone]))).join('');

type Special = Parameters<Parameters<typeof useInput>[0]>[1];

/** The keys of one piece of input, none of them lost. */
function pressesOf(input: string, key: Special): readonly Press[] {
  if (key.ctrl) return input === 'c' ? ['quit'] : [];
  const named = special(key);
  // Of Esc pressed twice the second is the input of the first.
  if (named !== null) return key.escape ? [named, ...[...input].flatMap(pressOf)] : [named];
  // Esc and the next key, typed fast or by a scanner, come as one.
  return [...(key.meta ? (['back'] as const) : []), ...[...input].flatMap(pressOf)];
}

function special(key: Special): Press | null {
  if (key.leftArrow) return 'left';
  if (key.rightArrow) return 'right';
  if (key.upArrow) return 'up';
  if (key.downArrow) return 'down';
  if (key.pageUp) return 'page-up';
  if (key.pageDown) return 'page-down';
  if (key.return) return 'enter';
  if (key.escape) return 'back';
  return key.backspace || key.delete ? 'backspace' : null;
}

const CONTROL_KEYS: Readonly<Record<string, Press>> = {
  '\r': 'enter',
  '\n': 'enter',
  '\u0003': 'quit',
  '\u001b': 'back',
  '\b': 'backspace',
  '\u007f': 'backspace',
};

/** What one character presses; other control characters nothing. */
const pressOf = (typed: string): Press[] => {
  const named = CONTROL_KEYS[typed];
  if (named !== undefined) return [named];
  return /\p{Cc}/u.test(typed) ? [] : [{ typed }];
};
