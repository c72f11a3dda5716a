/** What a word means; a colour may be added to it, never put in its place. */
export type Tone = 'plain' | 'title' | 'quiet' | 'good' | 'watch' | 'alarm';

/** A piece of a line of the screen. */
export interface Span {
  readonly text: string;
  readonly tone: Tone;
}

/** A line of the screen, not wider than it was made for. */
export type Line = readonly Span[];

export const span = (text: string, tone: Tone = 'plain'): Span => ({ text, tone });

/** A text that takes at most `width` characters; what is left out at its end is marked by an ellipsis. */
export function fitted(text: string, width: number): string {
  if (text.length <= width) return text;
  return width < 1 ? '' : `${text.slice(0, width - 1)}…`;
}

/** As `fitted`, but keeping the end: labels of one visit differ there. */
export function fittedEnd(text: string, width: number): string {
  if (text.length <= width) return text;
  return width < 1 ? '' : `…${text.slice(text.length - width + 1)}`;
}

export const widthOf = (line: Line): number => line.reduce((sum, { text }) => sum + text.length, 0);

/** The line cut to `width`, or filled up to it with blanks. */
export function sized(line: Line, width: number): Line {
  let left = width;
  const kept: Span[] = [];
  for (const { text, tone } of line) {
    if (left <= 0) break;
    const piece = fitted(text, left);
    kept.push({ text: piece, tone });
    left -= piece.length;
  }
  return left > 0 ? [...kept, span(' '.repeat(left))] : kept;
}

/** Two lines on one: the first from the left, the second to the right end. The second is kept whole first. */
export function spread(left: Line, right: Line, width: number): Line {
  const room = width - widthOf(right) - 1;
  return room < 1 ? sized(right, width) : [...sized(left, room), span(' '), ...right];
}

/** A text broken between words into lines of at most `width` characters; a longer word is broken, too. */
export const wrapped = (text: string, width: number, tone: Tone = 'plain'): Line[] =>
  text.split('\n').flatMap((line) => brokenLine(line, Math.max(1, width)).map((part) => [span(part, tone)]));

function brokenLine(text: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= width) {
      lines[lines.length - 1] = `${last} ${word}`;
      continue;
    }
    lines.push(word.slice(0, width));
    for (let from = width; from < word.length; from += width) lines.push(word.slice(from, from + width));
  }
  return lines;
}
