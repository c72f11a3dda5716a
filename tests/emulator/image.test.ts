import { describe, expect, test } from 'vitest';
import { loadImage } from '../../src/emulator/image.js';
import { Refusal } from '../../src/units/refusal.js';

// Worked by hand from the definition of Intel HEX: the bytes of a record, checksum included, sum to 0.
const DATA = ':0400100001020304E2';
const END = ':00000001FF';

test('`loadImage()` puts bytes at their address, low byte first, and leaves the rest erased', () => {
  const image = loadImage(`${DATA}\r\n${END}\r\n`);
  expect(image).toHaveLength(16_384);
  expect([...image.slice(7, 11)]).toEqual([0xffff, 0x0201, 0x0403, 0xffff]);
});

describe('`loadImage()` refuses', () => {
  test.each([
    ['a wrong checksum', `:0400100001020304E3\n${END}`, /line 1 has a wrong checksum/],
    ['a changed byte', `:0400100001020314E2\n${END}`, /line 1 has a wrong checksum/],
    ['a record cut short', `:04001000010203\n${END}`, /line 1 has the wrong length/],
    ['text', `${DATA}\nhello`, /line 2 is not an Intel HEX record/],
    ['a missing end', DATA, /line 1 is not the end record/],
    ['an address behind the flash', `:02800000AABB19\n${END}`, /line 1 lies behind the end/],
    ['an extended address', `:020000040001F9\n${END}`, /line 1 has a record type/],
  ])('%s', (_name, text, message) => {
    expect(() => loadImage(text)).toThrow(Refusal);
    expect(() => loadImage(text)).toThrow(message);
  });
});
