import { Box, Text, useInput } from 'ink';
import type { Press } from './entry/desk.js';
import type { Size } from './frame.js';
import type { Line, Span, Tone } from './line.js';

export interface ScreenProps {
  readonly lines: readonly Line[];
  /** What may be drawn on. */
  readonly size: Size;
  /** Whether colours may be sent (NO_COLOR is honoured here: the libraries below do not). */
  readonly colour: boolean;
  /** Whether keys can be read. */
  readonly keys: boolean;
  readonly onKey: (key: Press) => void;
}

/** Draws lines that are ready, and tells which key was pressed. Knows nothing of cups. */
export function Screen({ lines, size, colour, keys, onKey }: ScreenProps) {
  useInput(
    (input, key) => {
      // Keys that arrive back to back come as one text.
      for (const one of pressesOf(input, key)) onKey(one);
    },
    { isActive: keys },
  );
  return (
    <Box flexDirection="column" width={size.columns} height={Math.max(1, size.rows)} overflow="hidden">
      {lines.map((line, row) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a row of a screen is its place
        <Box key={row} height={1} flexShrink={0}>
          <Text wrap="truncate-end">
            {line.length === 0 ? ' ' : line.map((span, place) => draw(span, place, colour))}
          </Text>
        </Box>
      ))}
    </Box>
  );
}

const STYLES: Readonly<Record<Tone, { color?: string; bold?: boolean; dimColor?: boolean }>> = {
  plain: {},
  title: { bold: true },
  quiet: { dimColor: true },
  good: { color: 'green' },
  watch: { color: 'yellow' },
  alarm: { color: 'red', bold: true },
};

const draw = ({ text, tone }: Span, place: number, colour: boolean) => (
  <Text key={place} {...(colour ? STYLES[tone] : {})}>
    {text}
  </Text>
);

type Special = Parameters<Parameters<typeof useInput>[0]>[1];

/** The keys of one piece of input, none of them lost. */
function pressesOf(input: string, key: Special): readonly Press[] {
  if (key.ctrl) return input === 'c' ? ['quit'] : [];
  const named = special(key);
  if (named !== null) return [named];
  return key.meta ? [] : [...input].flatMap(pressOf);
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
  '\b': 'backspace',
  '\u007f': 'backspace',
};

/** What one character presses; other control characters nothing. */
const pressOf = (typed: string): Press[] => {
  const named = CONTROL_KEYS[typed];
  if (named !== undefined) return [named];
  return /\p{Cc}/u.test(typed) ? [] : [{ typed }];
};
