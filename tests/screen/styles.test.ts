import { describe, expect, it } from 'vitest';
import { span, widthOf } from '../../src/screen/line.js';
import { onPaper, STYLES } from '../../src/screen/styles.js';

describe('STYLES', () => {
  it('has only black and white in the sun, nothing dim, and an alarm the other way round', () => {
    const sun = Object.values(STYLES.sun);
    expect(new Set(sun.flatMap(({ color, backgroundColor }) => [color, backgroundColor]))).toEqual(
      new Set(['black', 'whiteBright']),
    );
    for (const { color, backgroundColor, dimColor } of sun) {
      expect(color).not.toBe(backgroundColor);
      expect(dimColor).toBeUndefined();
    }
    expect(STYLES.sun.alarm.backgroundColor).toBe('black');
    expect(STYLES.sun.plain.backgroundColor).toBe('whiteBright');
  });
});

describe('onPaper()', () => {
  it('fills the whole window in the sun, and leaves the lines as they are in the shade', () => {
    const lines = [[span('one')], [], [span('a long line')]];
    expect(onPaper(lines, 'shade', 8, 5)).toBe(lines);
    const filled = onPaper(lines, 'sun', 8, 5);
    expect(filled).toHaveLength(5);
    expect(filled.map(widthOf)).toEqual([8, 8, 11, 8, 8]);
  });
});
