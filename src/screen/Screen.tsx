import { Box, Text, useInput } from 'ink';
import type { Key } from './controls.js';
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
  readonly onKey: (key: Key) => void;
}

/** Draws lines that are ready, and tells which key was pressed. Knows nothing of cups. */
export function Screen({ lines, size, colour, keys, onKey }: ScreenProps) {
  useInput(
    (input, key) => {
      // Keys that arrive back to back come as one text.
      const typed = key.ctrl && input === 'c' ? ['quit' as const] : (special(key) ?? [...input].map(letter));
      for (const one of typed) if (one !== null) onKey(one);
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

function special(key: Special): readonly Key[] | null {
  if (key.leftArrow) return ['left'];
  if (key.rightArrow) return ['right'];
  if (key.upArrow) return ['up'];
  if (key.downArrow) return ['down'];
  if (key.pageUp) return ['page-up'];
  if (key.pageDown) return ['page-down'];
  if (key.return) return ['enter'];
  return null;
}

const LETTERS: Readonly<Record<string, Key>> = {
  q: 'quit',
  f: 'unit',
  m: 'mute',
  '\r': 'enter',
  '\n': 'enter',
};

const letter = (typed: string): Key | null => LETTERS[typed.toLowerCase()] ?? null;
