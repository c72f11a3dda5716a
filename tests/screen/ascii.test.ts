import { describe, expect, it } from 'vitest';
import { canShowUnicode, inAscii } from '../../src/screen/ascii.js';
import { CONTROLS } from '../../src/screen/controls.js';
import { span, widthOf } from '../../src/screen/line.js';
import { cupView, situation, slotView, usualFrame } from './views.js';

const WORDS = ['warm', 'near cold', 'cold', 'near hot', 'hot', 'no reading', 'not seated'] as const;

describe('inAscii()', () => {
  it('leaves nothing but printable ASCII, and every column in its place', () => {
    const slots = WORDS.map((word, i) => slotView({ slot: i + 1, cup: cupView({ state: { word } }) }));
    const lines = usualFrame(situation({ slots }), CONTROLS, { columns: 120, rows: 30 });
    const plain = inAscii(lines);
    expect(plain.map(widthOf)).toEqual(lines.map(widthOf));
    for (const line of plain) for (const { text } of line) expect(text).toMatch(/^[ -~]*$/);
    // Negative control: without it there is more than ASCII.
    expect(lines.flatMap((line) => line.map(({ text }) => text)).join('')).not.toMatch(/^[ -~]*$/);
  });

  it('keeps a shape of its own for every state and every height of a bar', () => {
    const [[shapes, bars]] = inAscii([[span('○▽▼△▲◇×·'), span('▁▂▃▄▅▆▇█·')]]) as unknown as [
      [{ text: string }, { text: string }],
    ];
    expect(new Set(shapes.text).size).toBe(8);
    expect(new Set(bars.text).size).toBe(9);
  });

  it('replaces what it does not know', () => {
    expect(inAscii([[span('é')]])[0]?.[0]?.text).toBe('?');
  });
});

describe('canShowUnicode()', () => {
  it.each([
    [{ LANG: 'C.UTF-8' }, true],
    [{ LANG: 'de_DE.utf8' }, true],
    [{ LANG: 'C' }, false],
    [{ LANG: 'C.UTF-8', LC_ALL: 'C' }, false],
    [{ LANG: 'C', LC_ALL: '', LC_CTYPE: 'en_US.UTF-8' }, true],
    [{}, true],
    [{ TERM: 'linux' }, false],
  ])('takes %j for %s', (env, expected) => expect(canShowUnicode(env)).toBe(expected));
});
