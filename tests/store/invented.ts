import fc from 'fast-check';
import type { StoredReading } from '../../src/store/store.js';
import { crc8, parseBoardId, parseRomId, type RomId } from '../../src/units/ids.js';
import { boardMs, type UtcMs, utcMs } from '../../src/units/time.js';

/** Readings that store tests make up. */
export const NINE = utcMs(Date.UTC(2026, 4, 12, 9));
export const BOARDS = ['0A1B2C3D', '0000ABCD'].map((id) => parseBoardId(id)!);

/** A ROM id in the pattern of genuine ones, its CRC by our own `crc8`. */
export function romOf(serial: number): RomId {
  const bytes = [0x28, serial, 0x9b, 0xbb, 0x0b, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
}

export type Fresh = Omit<StoredReading, 'id'>;

/** A reading of probe `serial`, scan by scan every ten seconds from nine o'clock. */
export const reading = (serial: number, scan: number, more: Partial<Fresh> = {}): Fresh => ({
  rom: romOf(serial),
  board: BOARDS[0]!,
  boot: 1,
  scan,
  slotIndex: serial,
  boardMs: boardMs(scan * 10_000 + 77),
  utc: utcMs(NINE + scan * 10_000),
  raw: 400 + ((scan * 7 + serial) % 23),
  status: 'ok',
  ...more,
});

/** Whole scans of some probes. */
export const scans = (probes: number, first: number, last: number, more: Partial<Fresh> = {}): Fresh[] =>
  Array.from({ length: last - first + 1 }, (_, index) =>
    Array.from({ length: probes }, (__, serial) => reading(serial, first + index, more)),
  ).flat();

/** A morning of three probes on two boards with all that happens: gaps, resets, flags, holes, late ones. */
export const mornings: fc.Arbitrary<Fresh[]> = fc
  .array(
    fc.record({
      serial: fc.integer({ min: 0, max: 2 }),
      scan: fc.integer({ min: 0, max: 1200 }),
      boot: fc.integer({ min: 1, max: 2 }),
      board: fc.constantFrom(...BOARDS),
      late: fc.integer({ min: -3, max: 3 }),
      raw: fc.option(fc.integer({ min: -400, max: 2000 }), { freq: 9 }),
      status: fc.constantFrom('ok', 'ok', 'ok', 'ok', 'bad-crc', 'missing', 'unplaced', 'never heard of'),
    }),
    { minLength: 1, maxLength: 120 },
  )
  .map((all) =>
    all.map(({ serial, scan, boot, board, late, raw, status }) =>
      reading(serial, scan, {
        boot,
        board,
        raw,
        status,
        utc: utcMs(NINE + scan * 10_000 + late + boot * 5000),
      }),
    ),
  );

export const END_OF_TIME = utcMs(Number.MAX_SAFE_INTEGER) as UtcMs;
