import { createHash } from 'node:crypto';
import { crc32 } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DamagedBlock, encodeBlock, HOUR_MS, openBlock } from '../../src/store/block.js';
import type { StoredReading } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { type Fresh, NINE, reading } from './invented.js';

const numbered = (all: readonly Fresh[]): StoredReading[] =>
  all.map((each, id) => ({ id: id * 12 + 1, ...each }));
const hourOf = (count: number) => numbered(Array.from({ length: count }, (_, scan) => reading(1, scan)));

const some = fc
  .array(
    fc.record({
      scan: fc.integer({ min: 0, max: 359 }),
      raw: fc.option(fc.integer({ min: -32768, max: 32767 })),
      status: fc.constantFrom('ok', 'bad-crc', 'missing', 'mißt nicht'),
      slotIndex: fc.integer({ min: 0, max: 15 }),
    }),
    { minLength: 1, maxLength: 50 },
  )
  .map((all) => numbered(all.map(({ scan, ...more }) => reading(1, scan, more))));

describe('encodeBlock()', () => {
  it('keeps every reading as it was, whatever its order', () => {
    fc.assert(
      fc.property(some, (readings) => {
        const bytes = encodeBlock(readings);
        const inOrder = [...readings].sort((a, b) => a.utc - b.utc || a.id - b.id);
        expect(openBlock(bytes).readings()).toEqual(inOrder);
        expect(encodeBlock([...readings].reverse())).toEqual(bytes);
      }),
    );
  });

  it('gives equal readings equal bytes for ever: their hash stands in facts', () => {
    // Computed by Python 3.11 and tests/reference/sealed-block.py, which was written from the format's description.
    const hash = createHash('sha256')
      .update(encodeBlock(hourOf(360)))
      .digest('hex');
    expect(hash).toBe('cc408b533caeac6814af6df499094a2d56af0366176e0fd3204ba3871b49631a');
  });

  it('takes less than half a byte a reading when all is even', () => {
    expect(encodeBlock(hourOf(360)).length / 360).toBeLessThan(0.5);
  });

  it('refuses readings of several hours, boots or probes, and none at all', () => {
    const two = (more: Partial<Fresh>) => () => encodeBlock(numbered([reading(1, 0), reading(1, 1, more)]));
    for (const more of [{ boot: 2 }, { utc: utcMs(NINE + HOUR_MS) }, { rom: reading(2, 0).rom }])
      expect(two(more)).toThrow(/one probe, one boot and one hour/);
    expect(two({ raw: 1.5 })).toThrow(/no whole number/);
    expect(() => encodeBlock([])).toThrow(RangeError);
  });
});

describe('openBlock()', () => {
  it('finds every changed byte, and never takes a part for the whole', () => {
    const bytes = encodeBlock(hourOf(60));
    for (let at = 0; at < bytes.length; at += 1) {
      const changed = Uint8Array.from(bytes);
      changed[at]! ^= 1 << (at % 8);
      expect(() => openBlock(changed), `byte ${at}`).toThrow(DamagedBlock);
      expect(() => openBlock(bytes.subarray(0, at)), `${at} bytes`).toThrow(DamagedBlock);
    }
    expect(() => openBlock(bytes)).not.toThrow();
  });

  it('does not guess at a block of a later version', () => {
    const bytes = Buffer.from(encodeBlock(hourOf(60)));
    bytes[3] = 2;
    bytes.writeUInt32LE(crc32(bytes.subarray(0, -4)), bytes.length - 4);
    expect(() => openBlock(bytes)).toThrow(/of version 2, which a newer stillwarm wrote/);
  });
});
