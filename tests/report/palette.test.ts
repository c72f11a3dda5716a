import { describe, expect, it } from 'vitest';
import { PALETTE, PAPER } from '../../src/report/palette.js';

/** Relative luminance and contrast ratio: WCAG 2.2, definitions of those terms. */
function luminance(colour: string): number {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const part = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red! + 0.7152 * green! + 0.0722 * blue!;
}

function contrast(one: string, other: string): number {
  const [dark, light] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (light! + 0.05) / (dark! + 0.05);
}

/** Least contrast: 4.5 for text and 3 for what must be seen in a drawing (WCAG 2.2, 1.4.3 and 1.4.11); 1.2 for what only shades (j). */
const PAIRS: readonly (readonly [string, string, number])[] = [
  [PALETTE.ink, PAPER, 4.5],
  [PALETTE.ink, PALETTE.wash, 4.5],
  [PALETTE.faint, PAPER, 4.5],
  [PALETTE.measured, PAPER, 3],
  [PALETTE.limit, PAPER, 3],
  [PALETTE.measured, PALETTE.range, 3],
  [PALETTE.limit, PALETTE.range, 3],
  [PALETTE.measured, PALETTE.gap, 3],
  [PALETTE.limit, PALETTE.gap, 3],
  [PALETTE.range, PAPER, 1.2],
  [PALETTE.gap, PAPER, 1.2],
  [PALETTE.rule, PAPER, 1.2],
];
const tooAlike = (pairs: typeof PAIRS) => pairs.filter(([one, other, least]) => contrast(one, other) < least);

describe('PALETTE', () => {
  it('is told apart by lightness alone, as on a grey print-out', () => {
    expect(tooAlike(PAIRS)).toEqual([]);
  });

  it('would be found out if it were told apart by hue alone', () => {
    // Red and green of one lightness, which many eyes take for the same.
    expect(tooAlike([['#c0392b', '#3c7a1f', 3]])).toHaveLength(1);
  });
});
