import { emitKeypressEvents, type Interface, type Key } from 'node:readline';
import type { Press } from './entry/desk.js';

/** So long after Esc the rest of a longer sequence is waited for, milliseconds: Node's half second is felt. */
const ESCAPE_ALONE = { escapeCodeTimeout: 50 } as unknown as Interface;

/** What is pressed on a keyboard: what the desk takes, and the key that asks for the picture to be drawn anew. */
export type KeyPress = Press | 'redraw';

/** Tells every key of a keyboard, until the returned function is called. Keys are read one by one meanwhile, unechoed. */
export function readKeys(stdin: NodeJS.ReadStream, onKey: (key: KeyPress) => void): () => void {
  let afterReturn = false;
  const heard = (_typed: string | undefined, key: Key) => {
    // A scanner may end its lines with both: the second would answer the next question.
    const isItsLineFeed = afterReturn && key.sequence === '\n';
    afterReturn = key.sequence?.endsWith('\r') === true;
    if (isItsLineFeed) return;
    for (const press of pressesOf(key)) onKey(press);
  };
  emitKeypressEvents(stdin, ESCAPE_ALONE);
  stdin.on('keypress', heard);
  stdin.setRawMode(true);
  stdin.resume();
  return () => {
    stdin.off('keypress', heard);
    stdin.setRawMode(false);
    stdin.pause();
  };
}

const NAMED: Readonly<Record<string, Press>> = {
  left: 'left',
  right: 'right',
  up: 'up',
  down: 'down',
  pageup: 'page-up',
  pagedown: 'page-down',
  delete: 'backspace',
};

/** What a number pad sends while another program's "application keypad" is still on (DEC VT100). */
const PAD: Readonly<Record<string, string>> = {
  M: '\r',
  j: '*',
  k: '+',
  m: '-',
  n: '.',
  o: '/',
  ...Object.fromEntries([...'pqrstuvwxy'].map((letter, digit) => [letter, String(digit)])),
};

// biome-ignore lint/suspicious/noControlCharactersInRegex: Esc begins a sequence, and may be typed before one
const SEQUENCE = /^(\u001b*)\u001b(?:\[|O(.))/u;

/** The keys of what Node takes for one. */
function pressesOf({ sequence = '', name = '' }: Key): readonly KeyPress[] {
  const [whole, before, pad] = SEQUENCE.exec(sequence) ?? [];
  // Esc and the next key, typed fast or by a scanner, come as one.
  if (whole === undefined) return [...sequence].flatMap(pressOf);
  const named = NAMED[name];
  const last = named === undefined ? [...(PAD[pad ?? ''] ?? '')].flatMap(pressOf) : [named];
  return [...[...(before ?? '')].flatMap(pressOf), ...last];
}

const CONTROL_KEYS: Readonly<Record<string, KeyPress>> = {
  '\r': 'enter',
  '\n': 'enter',
  '\u0003': 'quit',
  // Ctrl-L, as in shells and pagers.
  '\f': 'redraw',
  '\u001b': 'back',
  '\b': 'backspace',
  '\u007f': 'backspace',
};

/** What one character presses; other control characters nothing. */
const pressOf = (typed: string): readonly KeyPress[] => {
  const named = CONTROL_KEYS[typed];
  if (named !== undefined) return [named];
  return /\p{Cc}/u.test(typed) ? [] : [{ typed }];
};
