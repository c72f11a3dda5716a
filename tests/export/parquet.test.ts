import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { afterAll, describe, expect, it } from 'vitest';
import { csvEncoder, PLAIN } from '../../src/export/csv.js';
import { parquetEncoder } from '../../src/export/parquet.js';
import type { Store } from '../../src/store/store.js';
import { END_OF_TIME, NINE, reading, romOf, scans } from '../store/invented.js';
import { eachInNewStore } from '../visit/newStore.js';
import { iceChecks, OPENED } from '../visit/situation.js';
import { written } from './someReadings.js';

let store: Store;
eachInNewStore((each) => {
  store = each;
});
const folder = mkdtempSync(join(tmpdir(), 'stillwarm-parquet-'));
afterAll(() => rmSync(folder, { recursive: true }));
const parquet = join(folder, 'readings.parquet');
const csv = join(folder, 'readings.csv');
const GROUP_ROWS = 1000;

async function ask(sql: string) {
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  try {
    return (await connection.runAndReadAll(sql)).getRowObjectsJson();
  } finally {
    connection.closeSync();
  }
}
const write = async () => {
  writeFileSync(csv, await written(store, csvEncoder(PLAIN)));
  const encoder = parquetEncoder({ 'stillwarm.head': 'abc' }, GROUP_ROWS);
  writeFileSync(parquet, await written(store, encoder));
};
/** Rows of the Parquet file that are not in the CSV file, or the other way about, as DuckDB 1.5 reads both. */
const differences = () =>
  ask(`
    WITH p AS (SELECT * REPLACE ('store-' || store AS store, 'board-' || board AS board) FROM '${parquet}'),
    c AS (SELECT * FROM read_csv('${csv}', header = true, nullstr = '', types = {
      'time_utc': 'TIMESTAMPTZ', 'offset_celsius': 'DOUBLE', 'gap_s': 'DOUBLE', 'carrier': 'VARCHAR', 'slot': 'BIGINT'}))
    (SELECT * FROM p EXCEPT SELECT * FROM c) UNION ALL (SELECT * FROM c EXCEPT SELECT * FROM p)`);

describe('parquetEncoder()', () => {
  it('writes the rows of the CSV, in groups, with types that an empty column keeps', async () => {
    store.transaction(() => {
      store.addReadings(scans(3, 0, 900));
      store.addReadings([
        reading(0, 950, { raw: null, status: 'missing' }),
        reading(1, 951, { raw: -100 }),
        reading(2, 952, { status: 'unplaced' }),
      ]);
    });
    while (store.sealOldest(END_OF_TIME, Number.MAX_SAFE_INTEGER, NINE) !== null);
    store.append(OPENED, iceChecks(0.31, -9999, romOf(2)));
    await write();
    expect(await differences()).toEqual([]);
    expect(await ask(`SELECT COUNT(*)::INT AS rows FROM '${parquet}'`)).toEqual([{ rows: 2706 }]);
    const groups = await ask(
      `SELECT DISTINCT row_group_id::INT AS id, row_group_num_rows::INT AS rows, compression FROM parquet_metadata('${parquet}') ORDER BY id`,
    );
    expect(groups.length).toBeGreaterThan(1);
    expect(groups.every(({ compression }) => compression === 'SNAPPY')).toBe(true);
    const types = Object.fromEntries(
      (await ask(`DESCRIBE SELECT * FROM '${parquet}'`)).map((row) => [
        row['column_name'],
        row['column_type'],
      ]),
    );
    expect(types).toMatchObject({
      time_utc: 'TIMESTAMP WITH TIME ZONE',
      celsius: 'DOUBLE',
      raw_sixteenths: 'BIGINT',
      is_used: 'BOOLEAN',
      carrier: 'VARCHAR',
      slot: 'BIGINT',
      board: 'VARCHAR',
    });
  });

  it('says of itself which store it is from, up to which fact', async () => {
    store.transaction(() => store.addReadings([reading(0, 0)]));
    await write();
    const said = await ask(
      `SELECT decode(key) AS key, decode(value) AS value FROM parquet_kv_metadata('${parquet}')`,
    );
    expect(said).toContainEqual({ key: 'stillwarm.head', value: 'abc' });
  });

  it('is found out when a row differs (negative control)', async () => {
    store.transaction(() => store.addReadings([reading(0, 0), reading(0, 1)]));
    await write();
    expect(await differences()).toEqual([]);
    store.transaction(() => store.addReadings([reading(0, 2)]));
    writeFileSync(csv, await written(store, csvEncoder(PLAIN)));
    expect(await differences()).toHaveLength(1);
  });
});
