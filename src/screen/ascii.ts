import type { Line } from './line.js';

/** What stands for a character in a terminal that knows only ASCII; one character each, so that columns stay. */
const PLAIN: Readonly<Record<string, string>> = {
  '°': ' ',
  '…': '~',
  '·': '.',
  '○': 'o',
  '◦': 'o',
  '▽': 'v',
  '▼': 'V',
  '△': '^',
  '▲': 'A',
  '◇': '<',
  '×': 'x',
  '→': ' ',
  '↓': 'v',
  '↑': '^',
  '▁': '_',
  '▂': ',',
  '▃': '-',
  '▄': '~',
  '▅': '+',
  '▆': '=',
  '▇': '*',
  '█': '#',
  '│': '|',
  '─': '-',
  '░': ':',
};

/** The same lines in printable ASCII. */
export const inAscii = (lines: readonly Line[]): Line[] =>
  lines.map((line) => line.map(({ text, tone }) => ({ text: asciiText(text), tone })));

/** A text in printable ASCII, as long as before. */
export const asciiText = (text: string): string => text.replace(/[^ -~]/gu, (letter) => PLAIN[letter] ?? '?');

/** Whether a terminal shows more than ASCII, as its settings have it (POSIX: the first that is set counts). */
export function canShowUnicode(env: Readonly<Record<string, string | undefined>>): boolean {
  const locale = [env['LC_ALL'], env['LC_CTYPE'], env['LANG']].find((value) => (value ?? '') !== '');
  return locale === undefined ? env['TERM'] !== 'linux' : /utf-?8/i.test(locale);
}
