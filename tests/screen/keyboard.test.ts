import { setTimeout } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { type KeyPress, readKeys } from '../../src/screen/keyboard.js';
import { keyboard } from './terminals.js';

/** The keys of what is typed piece by piece, with what was done to the terminal. */
function typing() {
  const stdin = keyboard(true);
  const keys: KeyPress[] = [];
  const raw: boolean[] = [];
  stdin.on('raw', (is: boolean) => raw.push(is));
  const stop = readKeys(stdin, (key) => keys.push(key));
  return { stdin, keys, raw, stop };
}
const pressed = (...pieces: readonly string[]): readonly KeyPress[] => {
  const { stdin, keys, stop } = typing();
  for (const piece of pieces) stdin.write(piece);
  stop();
  return keys;
};
const typed = (text: string) => [...text].map((letter) => ({ typed: letter }));

describe('readKeys()', () => {
  it('tells every key, also when several arrive as one text', () => {
    // The second as a scanner sends a label: in one piece with its Enter. Sequences as xterm sends them (ECMA-48, DEC VT220).
    expect(
      pressed(
        'q',
        'C-1\r',
        '\u001b[C',
        '\u001b[D',
        '\u001b[A',
        '\u001b[B',
        '\u001b[5~',
        '\u001b[6~',
        '\u007f\b\r',
      ),
    ).toEqual([
      ...typed('qC-1'),
      'enter',
      'right',
      'left',
      'up',
      'down',
      'page-up',
      'page-down',
      'backspace',
      'backspace',
      'enter',
    ]);
  });

  it('takes Esc and what follows it at once for keys of their own, and Ctrl-C wherever it stands', () => {
    expect(pressed('\u001b14\r')).toEqual(['back', ...typed('14'), 'enter']);
    expect(pressed('\u001b\u001b2')).toEqual(['back', 'back', ...typed('2')]);
    expect(pressed('\u001b\u001b[A')).toEqual(['back', 'up']);
    expect(pressed('4\u0003')).toEqual([...typed('4'), 'quit']);
  });

  it("takes a scanner's CR LF for one Enter, in one piece or two, and a line feed alone for one", () => {
    expect(pressed('C-1\r\n', 'C-2\r', '\n7')).toEqual([
      ...typed('C-1'),
      'enter',
      ...typed('C-2'),
      'enter',
      ...typed('7'),
    ]);
    expect(pressed('1\n\n')).toEqual([...typed('1'), 'enter', 'enter']);
    expect(pressed('1\r\r\n')).toEqual([...typed('1'), 'enter', 'enter']);
  });

  it('takes Esc alone for Esc once nothing follows', async () => {
    const { stdin, keys, stop } = typing();
    stdin.write('\u001b');
    await expect.poll(() => keys, { interval: 5 }).toEqual(['back']);
    stop();
  });

  it('puts together a sequence and a letter that come in pieces', () => {
    expect(pressed('\u001b', '[', 'C')).toEqual(['right']);
  });

  it('puts together letters of several bytes', () => {
    const { stdin, keys, stop } = typing();
    for (const byte of Buffer.from('ß蜜🐝')) stdin.write(Buffer.from([byte]));
    stop();
    expect(keys).toEqual(typed('ß蜜🐝'));
  });

  it('reads a number pad that another program left in its own mode', () => {
    // From memory: SS3 p to y are 0 to 9, j * k + m - n . o / and M Enter (DEC VT100 user guide, auxiliary keypad).
    const sent = [...'pqrstuvwxyjkmnoM'].map((letter) => `\u001bO${letter}`).join('');
    expect(pressed(sent)).toEqual([...typed('0123456789*+-./'), 'enter']);
  });

  it('leaves out keys that mean nothing here', () => {
    // Home, F5, Tab, Ctrl-Z.
    expect(pressed('\u001b[H', '\u001b[15~', '\t', '\u001a')).toEqual([]);
  });

  it('reads unechoed, and gives the keyboard back', async () => {
    const { stdin, keys, raw, stop } = typing();
    expect(raw).toEqual([true]);
    stop();
    expect(raw).toEqual([true, false]);
    expect(stdin.isPaused()).toBe(true);
    stdin.write('q');
    await setTimeout(0);
    expect(keys).toEqual([]);
  });
});
