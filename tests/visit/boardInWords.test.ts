import { describe, expect, it } from 'vitest';
import { CLOCK_STATES, RESET_CAUSES, WARNINGS } from '../../src/carrier/wire/frames.js';
import { clockStateInWords, resetInWords, warningInWords } from '../../src/visit/boardInWords.js';

describe('what boards said of themselves', () => {
  it('has words for every code of the table that firmware and host share', () => {
    for (const cause of Object.keys(RESET_CAUSES)) expect(resetInWords(cause)).toMatch(/^(?:its|for) .* /);
    for (const state of Object.keys(CLOCK_STATES)) expect(clockStateInWords(state)).toMatch(/ clock /);
    for (const warning of Object.keys(WARNINGS)) expect(warningInWords(warning, 7)).not.toContain(warning);
    expect(warningInWords('probe-lost', 7)).toBe('probe 7 of its table stopped answering');
  });

  it('tells a code that it does not know as it is', () => {
    // Negative control: of a newer firmware.
    expect([resetInWords('cosmic-ray'), clockStateInWords('odd'), warningInWords('too-wet', 3)]).toEqual([
      'cosmic-ray',
      'odd',
      'warned: too-wet (3)',
    ]);
  });
});
