import { describe, expect, it } from 'vitest';
import { isShared, type KeptPage, ownPages } from '../../src/logger/ownPages.js';
import { parseBoardId } from '../../src/units/ids.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { scansPage, tablePage } from '../carrier/wire/pages.js';

const board = parseBoardId(BOARD)!;
const OTHER = '0A1B2C3E';
const of = { boot: 1, table: 1 };
const table = (page: number, by: string, nextScan: number, log = 0): KeptPage => ({
  ...{ boot: 1, log, page },
  head: tablePage({
    ...{ ...of, page, boardMs: 1500, utcSeconds: 1, clock: 'R' },
    ...{ board: by, roms: ROMS, nextScan },
  }).subarray(0, 31),
});
/** A page of two scans. */
const scans = (page: number, firstScan: number, log = 0): KeptPage => ({
  ...{ boot: 1, log, page },
  head: scansPage({
    ...{ ...of, page, firstMs: firstScan * 10_000, firstScan, periodSeconds: 10 },
    scans: [
      [400, 380],
      [400, 380],
    ],
  }).subarray(0, 31),
});
const own = (pages: readonly KeptPage[]) =>
  ownPages(
    board,
    pages,
    isShared(
      board,
      pages.map(({ head }) => head).filter((head) => (head[7]! & 0x20) === 0),
    ),
  );

describe('ownPages()', () => {
  it('are all pages of a memory that was in no other board, whatever is missing', () => {
    const pages = [scans(1, 2), scans(5, 20), table(6, BOARD, 30), scans(9, 60)];
    expect(own(pages)).toEqual(pages);
  });

  it('are of one that was the board’s tables, and the scans that go on from them', () => {
    const ours = [table(1, BOARD, 2), scans(2, 2), scans(3, 4)];
    const theirs = [table(4, OTHER, 2), scans(5, 2)];
    const again = [table(6, BOARD, 6), scans(7, 6)];
    expect(own([...ours, ...theirs, ...again])).toEqual([...ours, ...again]);
  });

  it.each([
    ['whose table is gone', scans(2, 2)],
    ['behind a hole', scans(9, 8)],
    ['that go on in number only, as pages of the other board may', scans(5, 40)],
    ['of the same number beside them', scans(5, 6, 1)],
  ])('are no scans there %s', (_which, page) => {
    const ours = [table(3, BOARD, 4), scans(4, 4)];
    const theirs = table(30, OTHER, 2);
    expect(own([...ours, page, theirs].sort((a, b) => a.log - b.log || a.page - b.page))).toEqual(ours);
  });
});
