import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite } from '../../src/store/store.js';
import { END_OF_TIME, NINE, romOf, scans } from '../store/invented.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { assigns, OPENED } from '../visit/situation.js';
import { run } from './run.js';

let folder: string;
let path: string;
allInNewFolder((fresh) => {
  folder = fresh;
  path = join(folder, 'x.sqlite');
  const store = openStoreToWrite(path, NINE);
  store.transaction(() => {
    store.addReadings(scans(3, 0, 400));
    store.append(OPENED, assigns(1, romOf(0), -1000), assigns(2, romOf(1), -1000));
  });
  store.close();
});
const exported = (...args: string[]) => run(['export', '--store', path, ...args]);
const linesOf = (text: string) => text.split('\r\n').slice(1, -1);

describe('export', () => {
  it('takes carriers, slots, probes and a span together', async () => {
    const span = ['--from', '2026-05-12T09:10:00Z', '--to', '2026-05-12T11:20:00+02:00'];
    const all = await exported(...span);
    expect(linesOf(all.out)).toHaveLength(3 * 61);
    expect(linesOf((await exported(...span, '--carrier', 'A')).out)).toHaveLength(2 * 61);
    expect(linesOf((await exported(...span, '--slot', 'A:2')).out)).toHaveLength(61);
    const named = await exported(...span, '--probe', romOf(2), '--probe', 'A:1');
    expect(linesOf(named.out)).toHaveLength(2 * 61);
    expect(named.err).toBe(
      'exported: 122 readings of 2 probes, 2026-05-12T09:10:00.000Z to 2026-05-12T09:20:00.000Z; 0 not for ruling, 0 gaps\n',
    );
  });

  it.each([
    [['--from', '2026-05-12'], 1, /--from 2026-05-12 is not a time with its offset; write it like/],
    [['--from', '2026-05-13T00:00:00Z', '--to', '2026-05-12T00:00:00Z'], 1, /is later than --to/],
    [
      ['--from', '2027-01-01T00:00:00Z'],
      1,
      /There is no reading of that choice in this store, and nothing was made/,
    ],
    [['--carrier', 'B'], 1, /There is no carrier B in this store; it has A\./],
    [['--slot', 'Q:4'], 1, /There is no carrier Q in this store; it has A\./],
    [['--slot', 'A'], 1, /A is not a slot; write CARRIER:SLOT/],
    [['--format', 'parquet'], 2, /Parquet goes into a file; name it with --out/],
    [['--json'], 2, /name a file for the readings with --out/],
    [['--format', 'xls'], 2, /Allowed choices are csv, spreadsheet, parquet, lines/],
  ])('refuses %j', async (args, code, words) => {
    const ran = await exported(...args);
    expect(ran.err).toMatch(words);
    expect(ran).toMatchObject({ code, out: '' });
  });

  it('makes nothing when it refuses, and overwrites nothing', async () => {
    const out = join(folder, 'never.parquet');
    await exported('--out', out, '--from', '2027-01-01T00:00:00Z');
    expect(existsSync(out)).toBe(false);
    expect((await exported('--out', out, '--format', 'parquet')).code).toBe(0);
    const before = readFileSync(out);
    const again = await exported('--out', out);
    expect(again).toMatchObject({ code: 1, out: '' });
    expect(again.err).toMatch(/exists, and nothing is overwritten/);
    expect(readFileSync(out).equals(before)).toBe(true);
  });

  it('ends with 3 when sealed hours are damaged, and says how many are missing', async () => {
    const store = openStoreToWrite(path, NINE);
    while (store.sealOldest(END_OF_TIME, Number.MAX_SAFE_INTEGER, NINE) !== null);
    store.close();
    const out = join(folder, 'damaged.csv');
    expect((await exported()).code).toBe(0);
    const sqlite = openSqlite(path, 'write');
    sqlite.run("UPDATE blocks SET bytes = X'00' WHERE id = 2");
    sqlite.close();
    const ran = await exported('--out', out);
    expect(ran.code).toBe(3);
    expect(ran.err).toMatch(
      /1 sealed hour of a probe is damaged and missing from what was exported; checkup names/,
    );
  });
});
