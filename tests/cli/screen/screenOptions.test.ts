import { describe, expect, it } from 'vitest';
import { controlsOf, isPlain } from '../../../src/cli/screen/screenOptions.js';
import { CONTROLS, pressed } from '../../../src/screen/controls.js';

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

describe('controlsOf()', () => {
  it('begins as the keys would leave it', () => {
    expect(controlsOf({})).toEqual(CONTROLS);
    const reach = { pages: 1, lines: 0, shown: 0 };
    const keys = (['unit', 'theme', 'mute'] as const).reduce(
      (now, key) => pressed(now, key, reach),
      CONTROLS,
    );
    expect(controlsOf({ fahrenheit: true, sun: true, muted: true })).toEqual(keys);
  });
});
