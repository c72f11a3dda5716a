import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isPage, readPage, readPageHead } from '../../../src/carrier/wire/logPage.js';
import { BOARD, ROMS } from './lines.js';
import { scansPage, sealed, tablePage } from './pages.js';

const scans = {
  page: 0x012345,
  boot: 7,
  table: 2,
  firstMs: 0x0102_0304,
  firstScan: 0x00abcd,
  periodSeconds: 20,
};
const table = {
  page: 9,
  boot: 7,
  table: 2,
  boardMs: 1500,
  utcSeconds: 1_778_587_200,
  clock: 'R',
  board: BOARD,
  roms: ROMS,
  nextScan: 2,
};

describe('isPage()', () => {
  it('believes a page with its number and a right check sum', () => {
    expect(isPage(scansPage({ ...scans, scans: [[401]] }), scans.page)).toBe(true);
  });

  it('refuses another number, another length, and any one flipped bit', () => {
    const page = scansPage({ ...scans, scans: [[401, -401, 'M']] });
    expect(isPage(page, scans.page + 1)).toBe(false);
    expect(isPage(page.subarray(1), scans.page)).toBe(false);
    for (let bit = 0; bit < page.length * 8; bit += 1) {
      const flipped = Uint8Array.from(page);
      flipped[bit >> 3]! ^= 1 << (bit & 7);
      expect(isPage(flipped, scans.page)).toBe(false);
    }
  });
});

describe('readPage()', () => {
  it('reads scans of an odd number of probes with signs and statuses', () => {
    // FE6Fh = -25.0625 degC = -401, 0191h = 25.0625 degC = 401: DS18B20 datasheet 19-7487 Rev 4, table 1
    const page = readPage(
      scansPage({
        ...scans,
        scans: [
          [401, -401, 'M'],
          ['R', 0, -880],
        ],
      }),
    );
    expect(page).toMatchObject({ kind: 'scans', page: 0x012345, boot: 7, table: 2, probes: 3 });
    expect(page?.kind === 'scans' && page.scans).toEqual([
      {
        scan: 0x00abcd,
        boardMs: 0x0102_0304,
        values: [
          { raw: 401, status: 'ok' },
          { raw: -401, status: 'ok' },
          { raw: null, status: 'missing' },
        ],
      },
      {
        scan: 0x00abce,
        boardMs: 0x0102_0304 + 20_000,
        values: [
          { raw: null, status: 'restarted' },
          { raw: 0, status: 'ok' },
          { raw: -880, status: 'ok' },
        ],
      },
    ]);
  });

  it('gives back every value of any page', () => {
    const value = fc.oneof(
      fc.integer({ min: -880, max: 2000 }),
      fc.constantFrom('C', 'Z', 'M', 'N', 'K', 'R', 'F'),
    );
    const page = fc.integer({ min: 1, max: 16 }).chain((probes) =>
      fc.array(fc.array(value, { minLength: probes, maxLength: probes }), {
        minLength: 1,
        maxLength: Math.floor(108 / Math.ceil(probes * 1.5)),
      }),
    );
    fc.assert(
      fc.property(page, (rows) => {
        const read = readPage(scansPage({ ...scans, scans: rows }));
        const raws =
          read?.kind === 'scans' && read.scans.map(({ values }) => values.map((each) => each?.raw));
        expect(raws).toEqual(rows.map((row) => row.map((each) => (typeof each === 'number' ? each : null))));
      }),
      { numRuns: 100 },
    );
  });

  it('reads a table with its time', () => {
    expect(readPage(tablePage(table))).toEqual({
      kind: 'table',
      page: 9,
      unacknowledged: 0,
      boot: 7,
      table: 2,
      probes: 2,
      boardMs: 1500,
      board: BOARD,
      utc: 1_778_587_200_000,
      clock: 'running',
      sets: 0,
      resetCause: 'power-on',
      nextScan: 2,
      roms: [
        { index: 0, rom: ROMS[0] },
        { index: 1, rom: ROMS[1] },
      ],
    });
  });

  it.each([
    [3, 255],
    [2, null],
  ])('reads of a table page of protocol version %i how often the clock had been set: %s', (version, sets) => {
    const page = tablePage({ ...table, sets: 255 });
    page[30] = version;
    expect(readPage(sealed(page))).toMatchObject({ kind: 'table', sets });
    expect(readPageHead(page)).toMatchObject({ kind: 'table', setsLow: 3 });
  });

  it('reads the second page of a large table by its first index, and an unknown time', () => {
    const roms = Array.from({ length: 14 }, (_, index) => ROMS[index % 2]!);
    const read = readPage(tablePage({ ...table, roms, from: 12, utcSeconds: 0, clock: 'S' }));
    expect(read).toMatchObject({ probes: 14, utc: null, clock: 'stopped' });
    expect(read?.kind === 'table' && read.roms.map(({ index }) => index)).toEqual([12, 13]);
  });

  const changed = (page: Uint8Array, at: number, value: number) => {
    page[at] = value;
    return sealed(page);
  };
  it.each([
    ['more scans than fit', changed(scansPage({ ...scans, scans: [[1]] }), 18, 60)],
    ['more probes than a board has', changed(scansPage({ ...scans, scans: [[1]] }), 7, (1 << 5) | 17)],
    ['scans of no probe', changed(scansPage({ ...scans, scans: [[1]] }), 7, 1 << 5)],
    ['a ROM id whose CRC is wrong', changed(tablePage(table), 31 + 7, 0x1e)],
    ['an unknown clock state', changed(tablePage(table), 28, 0x41 + 25)],
    ['an unknown reset cause', changed(tablePage(table), 29, 0)],
  ])('does not understand %s', (_name, page) => {
    expect(readPage(page)).toBeNull();
  });

  it('leaves out a status of a later protocol, and nothing else', () => {
    const read = readPage(scansPage({ ...scans, scans: [[400, 'Q', 401]] }));
    expect(read?.kind === 'scans' && read.scans[0]!.values).toEqual([
      { raw: 400, status: 'ok' },
      null,
      { raw: 401, status: 'ok' },
    ]);
  });
});
