import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { wrapped } from '../../src/cli/wrapped.js';

describe('wrapped()', () => {
  it('breaks between words and indents what follows', () => {
    const line = `  remark: ${'word '.repeat(20)}end`;
    expect(wrapped(line).split('\n')).toEqual([
      `  remark: ${'word '.repeat(13).trim()}`,
      `    ${'word '.repeat(7)}end`,
    ]);
  });

  it('never makes a line longer than a terminal of 80 columns shows, and loses no word', () => {
    fc.assert(
      fc.property(fc.array(fc.stringMatching(/^[a-z]{1,20}$/), { maxLength: 60 }), (words) => {
        const text = wrapped(words.join(' '));
        for (const line of text.split('\n')) expect(line.length).toBeLessThan(80);
        expect(text.split(/\s+/).filter(Boolean)).toEqual(words);
      }),
    );
  });

  it('leaves short lines, tables among them, as they are', () => {
    const table = 'cup   ruling  cold\nC-1   valid   0-2';
    expect(wrapped(table)).toBe(table);
  });
});
