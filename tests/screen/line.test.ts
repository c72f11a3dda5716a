import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitted, fittedEnd, sized, span, spread, widthOf, wrapped } from '../../src/screen/line.js';
import { texts } from './views.js';

describe('fitted()', () => {
  it.each([
    ['cup', 3, 'cup'],
    ['cups', 3, 'cu…'],
    ['cups', 1, '…'],
    ['cups', 0, ''],
  ])('fits %j into %i', (text, width, expected) => expect(fitted(text, width)).toBe(expected));
});

describe('fittedEnd()', () => {
  it.each([
    ['260512-01', 9, '260512-01'],
    ['260512-01', 6, '…12-01'],
    ['260512-01', 1, '…'],
    ['260512-01', 0, ''],
  ])('fits %j into %i', (text, width, expected) => expect(fittedEnd(text, width)).toBe(expected));
});

const lines = fc.array(fc.string().map((text) => span(text)));

describe('sized()', () => {
  it('makes every line exactly as wide as asked', () => {
    fc.assert(fc.property(lines, fc.nat(40), (line, width) => widthOf(sized(line, width)) === width));
  });
});

describe('spread()', () => {
  it('makes every line exactly as wide as asked and never cuts the right part while there is room', () => {
    fc.assert(
      fc.property(lines, lines, fc.nat(40), (left, right, width) => {
        const line = spread(left, right, width);
        expect(widthOf(line)).toBe(width);
        const end = right.map(({ text }) => text).join('');
        if (end.length <= width)
          expect(
            line
              .map(({ text }) => text)
              .join('')
              .includes(end),
          ).toBe(true);
      }),
    );
  });
});

describe('wrapped()', () => {
  it('breaks between words, where the text says so, and within a word that is longer than a line', () => {
    expect(texts(wrapped('one two three', 7))).toEqual(['one two', 'three']);
    expect(texts(wrapped('one\ntwo three', 9))).toEqual(['one', 'two three']);
    expect(texts(wrapped('one verylongword x', 6))).toEqual(['one', 'verylo', 'ngword', 'x']);
  });

  it('is never wider than asked and loses no letter', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 80 }), fc.integer({ min: 1, max: 30 }), (text, width) => {
        const lines = wrapped(text, width);
        for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(width);
        const letters = (words: string) => words.replaceAll(/[ \n]/g, '');
        expect(letters(lines.map(([piece]) => piece!.text).join(''))).toBe(letters(text));
      }),
    );
  });
});
