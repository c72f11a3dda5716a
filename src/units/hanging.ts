import wrapAnsi from 'wrap-ansi';

/** Breaks a line between words so that it fits; what follows a break is indented two further than the line's beginning. */
export function hanging(line: string, columns: number): string[] {
  if (line.length <= columns) return [line];
  const indent = ' '.repeat(line.length - line.trimStart().length);
  const [first = '', ...rest] = wrapAnsi(line.trimStart(), columns - indent.length - 2).split('\n');
  return [indent + first, ...rest.map((part) => `${indent}  ${part}`)];
}
