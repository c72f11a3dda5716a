import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeColumn, encodeColumn, readVarint, writeVarint } from '../../src/store/columnCode.js';

const around = (values: readonly number[]) => {
  const code = encodeColumn(values);
  // Other bytes follow in a block; they must not be read as part of the column.
  return [...decodeColumn(Buffer.concat([code, Buffer.alloc(4, 0xff)]), 0, values.length)];
};
/** Steps of steps of such numbers still fit. */
const LARGEST = 2 ** 50;

describe('encodeColumn()', () => {
  it('is undone by decodeColumn()', () => {
    const small = fc.oneof(fc.integer({ min: -300, max: 1000 }), fc.constantFrom(0, 10, 40));
    const any = fc.integer({ min: -LARGEST, max: LARGEST });
    fc.assert(
      fc.property(
        fc.array(fc.oneof(small, small, small, any), { minLength: 1, maxLength: 400 }),
        (values) => {
          expect(around(values)).toEqual(values.map((value) => value + 0));
        },
      ),
    );
  });

  it('takes no bits for even steps, and few for small unevenness', () => {
    const even = Array.from({ length: 360 }, (_, index) => 1_790_000_000_000 + index * 10_000);
    expect(encodeColumn(even)).toHaveLength(6 + 3 + 1);
    const uneven = even.map((value, index) => value + (index % 7 === 0 ? 1 : 0));
    expect(around(uneven)).toEqual(uneven);
    expect(encodeColumn(uneven).length).toBeLessThan(10 + 360 / 4);
  });

  it('gives the bytes of its definition, worked out by hand', () => {
    // First 5 -> 10; steps 1 1 3 -1, usual 1 -> 2; rest 0 0 2 -2 -> 0 0 4 3, and the parameter with the fewest bits.
    // Costs by parameter: 0: 1+1+5+4 = 11; 1: 2+2+4+3 = 11; 2: 3+3+4+3 = 13: the smallest of equals is 0.
    // Bits with 0: 0, 0, 11110, 1110 -> 00111101 110(00000) = 3D C0.
    expect(Buffer.from(encodeColumn([5, 6, 7, 10, 9])).toString('hex')).toBe('0a02003dc0');
  });

  it('has a short code for a second usual step, worked out by hand', () => {
    // First 0 -> 00; steps 10 30 10 30 ..., usual 10 -> 20 (14), differences 0 and 20 -> 40 (28), parameter 0 + 32 (20).
    // Bits 0 10 0 10 0 10 0 10 0 10 -> 01001001 0010010(0) = 49 24.
    const turns = [0, 10, 40, 50, 80, 90, 120, 130, 160, 170, 200];
    expect(Buffer.from(encodeColumn(turns)).toString('hex')).toBe('001420284924');
    expect(around(turns)).toEqual(turns);
    const rarelyElse = [...turns, 203, 213, 243, 253];
    expect(around(rarelyElse)).toEqual(rarelyElse);
  });

  it('refuses what is no whole number, or too large', () => {
    for (const value of [0.5, Number.NaN, Number.POSITIVE_INFINITY, 2 ** 53])
      expect(() => encodeColumn([0, value])).toThrow(RangeError);
  });
});

describe('decodeColumn()', () => {
  it('ends on any bytes', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 60 }), fc.integer({ min: 0, max: 500 }), (bytes, count) => {
        expect(decodeColumn(bytes, 0, count)).toHaveLength(count);
      }),
    );
  });
});

describe('writeVarint()', () => {
  it('is undone by readVarint() up to the largest safe integer', () => {
    for (const value of [0, 1, 127, 128, 16_383, 16_384, 2 ** 32, Number.MAX_SAFE_INTEGER]) {
      const bytes: number[] = [];
      writeVarint(bytes, value);
      expect(readVarint(Uint8Array.from(bytes), 0)).toEqual({ value, next: bytes.length });
    }
  });
});
