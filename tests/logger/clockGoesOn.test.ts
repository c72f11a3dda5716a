import { describe, expect, it } from 'vitest';
import { clockGoesOn, type ToldOnce } from '../../src/logger/clockGoesOn.js';
import type { PageEnds } from '../../src/store/pageHeads.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { scansPage, sealed, tablePage } from '../carrier/wire/pages.js';

const at = (boot: number, boardMs: number) => ({ boot, boardMs });
const ends = (boot: number, bytes: Uint8Array): PageEnds => ({
  ...{ boot, log: 0, page: 1 },
  ...{ head: bytes.subarray(0, 31), last: bytes[127]! },
});
/** A table page, of a clock set so often; of protocol version 3 unless said. */
function table(boot: number, boardMs: number, sets: number, version = 3): PageEnds {
  const bytes = tablePage({
    ...{ page: 1, boot, table: 1, boardMs, utcSeconds: 1, clock: 'R' },
    ...{ board: BOARD, roms: ROMS, nextScan: 2, sets },
  });
  bytes[30] = version;
  return ends(boot, sealed(bytes));
}
/** Six scans, 20 s apart. */
const scans = (boot: number, firstMs: number, sets: number): PageEnds =>
  ends(
    boot,
    scansPage({
      ...{ page: 1, boot, table: 1, firstMs, firstScan: 2, periodSeconds: 20, sets },
      scans: Array.from({ length: 6 }, () => [400, 380]),
    }),
  );
const compared = (boot: number, boardMs: number, sets?: number): ToldOnce => ({ boot, boardMs, sets });
const isUnset = (
  pages: readonly PageEnds[],
  comparisons: readonly ToldOnce[],
  from: [number, number],
  to: [number, number],
) => clockGoesOn(pages, comparisons).isUnset(at(...from), at(...to));

describe('clockGoesOn()', () => {
  it.each([
    [
      'two comparisons of the same count, whatever lies between',
      [],
      [compared(1, 500, 7), compared(9, 50, 7)],
      true,
    ],
    ['two of different counts', [], [compared(1, 500, 7), compared(9, 50, 8)], false],
    ['one of a board that does not count', [], [compared(1, 500, 7), compared(9, 50)], false],
    ['none after', [], [compared(1, 500, 7)], false],
    ['a count that came round', [], [compared(1, 500, 255), compared(9, 50, 0)], false],
  ])('tells from %s', (_what, pages, comparisons, is) => {
    expect(isUnset(pages, comparisons, [1, 500], [9, 50])).toBe(is);
  });

  const LOG = [
    table(1, 1500, 7),
    scans(1, 500, 7),
    table(1, 200_900, 8),
    scans(1, 200_000, 8),
    table(2, 1500, 8),
  ];
  it.each([
    ['within a run', [1, 4000], [1, 100_500], true],
    ['from a table to the end of its scans', [1, 1500], [1, 100_500], true],
    ['across a setting', [1, 100_000], [1, 200_000], false],
    ['into the gap in which it was set', [1, 100_000], [1, 150_000], false],
    ['from the first scan after it on', [1, 200_000], [1, 300_000], true],
    ['into the next boot', [1, 300_000], [2, 1500], true],
    ['in the gap before it, which both ends agree on', [1, 310_000], [2, 0], true],
    ['beyond the last that was told', [2, 1500], [2, 1501], false],
    ['before the first that was told', [1, 0], [1, 1000], false],
  ] as [string, [number, number], [number, number], boolean][])(
    'knows of a log whether it was set %s',
    (_when, from, to, is) => {
      expect(isUnset(LOG, [], from, to)).toBe(is);
    },
  );

  it('counts a moment between two comparisons by the one that was made then', () => {
    // The scan that was begun before the setting lies on the first page after it.
    const around = [compared(1, 200_300, 7), compared(1, 200_800, 8)];
    expect(isUnset(LOG, around, [1, 4000], [1, 200_300])).toBe(true);
    expect(isUnset(LOG, around, [1, 200_300], [1, 200_000])).toBe(false);
    expect(isUnset(LOG, around, [1, 200_800], [1, 300_000])).toBe(true);
  });

  it('knows the count of a page by the table that was written with it, however often the clock was set later', () => {
    const pages = [...LOG.slice(0, 4), table(2, 1500, 12)];
    expect(isUnset(pages, [], [1, 200_000], [1, 300_000])).toBe(true);
    expect(isUnset(pages, [], [1, 200_000], [2, 1500])).toBe(false);
  });

  it('completes the count of a page whose table is missing by what comes before and after', () => {
    const without = LOG.filter((_, index) => index !== 2);
    expect(isUnset(without, [], [1, 100_000], [1, 200_000])).toBe(false);
    expect(isUnset(without, [], [1, 200_000], [2, 1500])).toBe(true);
  });

  it.each([
    ['three settings', 3, true],
    ['four settings, which its two bits do not tell apart', 4, false],
  ])('leaves none open but after %s', (_many, more, is) => {
    const pages = [table(1, 1500, 7), scans(1, 200_000, 7 + more), table(2, 1500, 7 + more)];
    expect(isUnset(pages, [], [1, 200_000], [2, 1500])).toBe(is);
    expect(isUnset(pages, [], [1, 1500], [1, 200_000])).toBe(false);
  });

  it('believes no page that ends otherwise than all counts there can be', () => {
    const pages = [table(1, 1500, 7), scans(1, 200_000, 6), table(2, 1500, 8)];
    expect(isUnset(pages, [], [1, 200_000], [2, 1500])).toBe(false);
    expect(isUnset(pages, [], [1, 1500], [1, 200_000])).toBe(false);
  });

  it('takes no count from pages of protocol version 2', () => {
    const pages = [table(1, 1500, 0, 2), scans(1, 2000, 0), table(2, 1500, 0)];
    expect(isUnset(pages, [], [1, 2000], [2, 1500])).toBe(false);
    expect(isUnset([table(1, 1500, 0), scans(1, 2000, 0), table(2, 1500, 0)], [], [1, 2000], [2, 1500])).toBe(
      true,
    );
  });

  it('knows nothing across what firmware told that does not count', () => {
    const [before, after] = [compared(1, 500, 7), compared(9, 50, 7)];
    expect(isUnset([], [before, after], [1, 500], [9, 50])).toBe(true);
    expect(isUnset([], [before, compared(5, 50), after], [1, 500], [9, 50])).toBe(false);
    expect(isUnset([table(5, 50, 0, 2)], [before, after], [1, 500], [9, 50])).toBe(false);
    expect(isUnset([table(5, 50, 7)], [before, after], [1, 500], [9, 50])).toBe(true);
  });

  it.each([
    ['before', [scans(1, 2000, 7), table(2, 1500, 7)], [1, 2000], [2, 1500]],
    ['after', [table(1, 1500, 7), scans(1, 200_000, 7)], [1, 1500], [1, 200_000]],
  ] as [string, PageEnds[], [number, number], [number, number]][])(
    'does not know the count of a page when none was told in full %s it',
    (_when, pages, from, to) => {
      expect(isUnset(pages, [], from, to)).toBe(false);
    },
  );

  it('does not know it while the first scan of a page is under way, but for that scan', () => {
    // The mark may have been pressed before the clock was set or after.
    expect(isUnset(LOG, [], [1, 200_500], [1, 300_000])).toBe(false);
    expect(isUnset(LOG, [], [1, 204_000], [1, 300_000])).toBe(true);
    // Nobody set it before this page.
    const more = [...LOG.slice(0, 2), scans(1, 120_500, 7), table(2, 1500, 7)];
    expect(isUnset(more, [], [1, 121_000], [1, 1500])).toBe(true);
  });
});
