import { describe, expect, it } from 'vitest';
import { isPlain } from '../../src/cli/plainLines.js';

describe('isPlain()', () => {
  it.each([
    ['a terminal', {}, { isTTY: true, term: 'xterm' }, false],
    ['a terminal, when asked for', { plain: true } as const, { isTTY: true, term: 'xterm' }, true],
    ['a pipe', {}, { isTTY: false, term: 'xterm' }, true],
    ['a dumb terminal', {}, { isTTY: true, term: 'dumb' }, true],
    ['a terminal that does not say what it is', {}, { isTTY: true, term: undefined }, false],
  ])('says whether there are lines on %s', (_where, options, where, expected) => {
    expect(isPlain(options, where)).toBe(expected);
  });
});
