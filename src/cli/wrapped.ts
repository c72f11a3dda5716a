import wrapAnsi from 'wrap-ansi';

/** Lines for people are no longer than this, so that the narrowest common terminal shows them whole. */
const COLUMNS_MAX = 79;

/** Breaks long lines between words; what follows a break is indented further than the line's beginning. */
export function wrapped(text: string): string {
  return text
    .split('\n')
    .map((line) => {
      if (line.length <= COLUMNS_MAX) return line;
      const indent = ' '.repeat(line.length - line.trimStart().length);
      const [first = '', ...rest] = wrapAnsi(line.trimStart(), COLUMNS_MAX - indent.length - 2).split('\n');
      return [indent + first, ...rest.map((part) => `${indent}  ${part}`)].join('\n');
    })
    .join('\n');
}
