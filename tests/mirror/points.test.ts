import { describe, expect, it } from 'vitest';
import { lineOf } from '../../src/mirror/line.js';
import { type Point, tagText } from '../../src/mirror/points.js';

const point = (lot: string): Point => ({
  measurement: 'stillwarm_ruling',
  tags: { lot },
  fields: { valid: 1 },
  timestamp: 1_790_000_000_000,
});
// Line protocol: docs.influxdata.com/influxdb/v1/write_protocols/line_protocol_reference (a line ends at \n; \ before , = and space).
const LINE = /^stillwarm_ruling,lot=((?:\\[, =]|[^\\, =\n])*) valid=1 1790000000000$/;

describe('tagText()', () => {
  it.each([
    ['a line feed', 'lot 7\nstillwarm_ruling,lot=8 valid=1 1'],
    ['a carriage return and a tab', 'lot\r\t7'],
    ['the line breaks of Unicode', 'lot\u2028\u20297'],
    ['a backslash at the end', 'lot 7\\'],
    ['commas and equals signs', 'a=b, c'],
  ])('keeps %s from ending a line or a tag', (_name, words) => {
    expect(lineOf(point(tagText(words)))).toMatch(LINE);
  });

  it('puts a space for line breaks and a slash for backslashes, and leaves other words alone', () => {
    expect(tagText(' a\n\nb\u2028c\\d ')).toBe('a b c/d');
    expect(tagText('Los 7, grün')).toBe('Los 7, grün');
  });

  it('is needed: a line break as it is begins a line of its own, a backslash swallows what follows (negative control)', () => {
    expect(lineOf(point('7\nx'))).not.toMatch(LINE);
    expect(lineOf(point('7\\'))).not.toMatch(LINE);
  });
});
