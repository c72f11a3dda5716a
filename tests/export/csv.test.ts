import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { csvEncoder, PLAIN, SPREADSHEET } from '../../src/export/csv.js';
import { seriesOf } from '../../src/export/rows.js';
import type { Store } from '../../src/store/store.js';
import { neutralised, plainText } from '../../src/units/formula.js';
import { parseCarrierId } from '../../src/units/ids.js';
import { formatInstant, utcMs } from '../../src/units/time.js';
import { seasonOf } from '../../src/visit/season.js';
import { mornings, reading, romOf } from '../store/invented.js';
import { eachInNewStore } from '../visit/newStore.js';
import { iceChecks, OPENED } from '../visit/situation.js';
import { ALL, written } from './someReadings.js';

let store: Store;
eachInNewStore((each) => {
  store = each;
});
const text = async (dialect = PLAIN) => (await written(store, csvEncoder(dialect))).toString('utf8');
const add = (...readings: Parameters<Store['addReadings']>[0]) =>
  store.transaction(() => store.addReadings(readings));

describe('csvEncoder()', () => {
  it('writes what a reader of CSV gets back, value for value', async () => {
    add(...fc.sample(mornings, { numRuns: 30, seed: 7 }).flat());
    store.append(OPENED, iceChecks(-0.1, -9999, romOf(1)));
    const parsed: Record<string, string>[] = parse(await text(), { columns: true, record_delimiter: '\r\n' });
    const rows = [...seriesOf(store, seasonOf(store), ALL)].flatMap((part) => [...part.rows]);
    expect(parsed).toHaveLength(rows.length);
    for (const [index, row] of rows.entries()) {
      const cells = parsed[index]!;
      const { reading: one } = row;
      expect(cells).toMatchObject({
        probe: one.rom,
        time_utc: formatInstant(one.utc),
        raw_sixteenths: one.raw === null ? '' : String(one.raw),
        status: one.status,
        is_used: String(row.isUsed),
        board: `board-${one.board}`,
        boot: String(one.boot),
        board_ms: String(one.boardMs),
        reading: String(one.id),
      });
      if (row.celsius === null) expect(cells['celsius']).toBe('');
      // Rounded to 0.0001; the exact value is raw_sixteenths / 16 - offset_celsius.
      else {
        expect(Number(cells['celsius'])).toBeCloseTo(row.celsius, 4);
        expect(Number(cells['raw_sixteenths']) / 16 - Number(cells['offset_celsius'])).toBe(row.celsius);
      }
    }
  });

  it('neutralises words that begin like a formula, and never a number', async () => {
    add(reading(0, 0, { raw: -8, status: '=1+1' }), reading(0, 1, { raw: -8, status: '-ok, "so"' }));
    const lines = (await text()).split('\r\n');
    expect(lines[1]).toContain(",-0.5,false,-8,,'=1+1,");
    expect(lines[2]).toContain(`,-0.5,false,-8,,"'-ok, ""so""",`);
  });

  it('begins ids with a letter that might be taken for numbers', async () => {
    add(reading(0, 0));
    const [, row] = (await text()).split('\r\n');
    expect(row).toContain(`,store-${store.storeId()},board-0A1B2C3D,`);
  });

  it('begins carriers with a letter, too, where a spreadsheet opens the file without asking', async () => {
    const carrier = parseCarrierId('007')!;
    store.append(OPENED, { type: 'probe-assigned', carrier, slot: 1, rom: romOf(0), at: utcMs(0) });
    add(reading(0, 0));
    const opened = (await text(SPREADSHEET)).split('\r\n')[1]!;
    expect(opened).toContain(';carrier-007;1;store-');
    // No cell but numbers, times and whether it is used begins as a number.
    const columns = (await text(SPREADSHEET)).split('\r\n')[0]!.split(';');
    const likeNumbers = columns.filter((_, index) => /^[\d.,+-]/.test(opened.split(';')[index]!));
    expect(
      likeNumbers.filter(
        (name) =>
          !/^(\ufeffprobe|time_.*|celsius|raw_.*|slot|slot_index|boot|scan|board_ms|reading)$/.test(name),
      ),
    ).toEqual([]);
    // Plain CSV is for programs that can be told what a column is.
    expect((await text()).split('\r\n')[1]).toContain(',007,1,store-');
  });

  it('writes for spreadsheets with a mark, semicolons and decimal commas', async () => {
    add(reading(0, 0, { raw: -9 }));
    const bytes = await written(store, csvEncoder(SPREADSHEET));
    expect([...bytes.subarray(0, 3)]).toEqual([0xef, 0xbb, 0xbf]);
    const [head, row] = bytes.toString('utf8').split('\r\n');
    expect(head).toMatch(/^\ufeffprobe;time_utc;time_within_ms;celsius;/);
    expect(row).toContain(';-0,5625;true;-9;;ok;');
    expect(bytes.toString('utf8')).not.toMatch(/^\ufeff?sep=/);
  });
});

describe('neutralised()', () => {
  it('is undone by plainText(), whatever the words', () => {
    fc.assert(fc.property(fc.string(), (words) => plainText(neutralised(words)) === words));
    fc.assert(
      fc.property(fc.constantFrom(...'=+-@\t\r＝＋－＠'), fc.string(), (first, rest) =>
        neutralised(first + rest).startsWith("'"),
      ),
    );
    expect(neutralised('ok')).toBe('ok');
  });
});
