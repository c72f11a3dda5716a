import wrapAnsi from 'wrap-ansi';

/** A number and its percent sign stay together. */
const HELD = '\u00a0';
/** What stands before the text of a line in two columns, such as a key before what it does. */
const LABEL = /^\s*\S.{0,20}?\s{2,}(?=\S)/;
/** A column further in than this part of the line leaves too little room beside it. */
const LABEL_PART_MAX = 1 / 3;

/**
 * Breaks a line between words so that it fits; a word that is longer than that is broken as well. What follows a break stands under the text of a line that has a label
 * before it, else two further in than the line's beginning.
 */
export function hanging(line: string, columns: number): string[] {
  if (line.length <= columns) return [line];
  const label = LABEL.exec(line)?.[0] ?? '';
  const isLabelled = label !== '' && label.length <= columns * LABEL_PART_MAX;
  const begin = isLabelled ? label : ' '.repeat(line.length - line.trimStart().length);
  const indent = isLabelled ? ' '.repeat(label.length) : `${begin}  `;
  const text = line.slice(begin.length).replace(/(?<=\d) (?=%)/g, HELD);
  const [first = '', ...rest] = wrapAnsi(text, columns - indent.length, { hard: true })
    .replaceAll(HELD, ' ')
    .split('\n');
  return [begin + first, ...rest.map((part) => indent + part)];
}
