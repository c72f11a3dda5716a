import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { afterAll, expect, it } from 'vitest';
import { csvEncoder, PLAIN } from '../../src/export/csv.js';
import { parquetEncoder } from '../../src/export/parquet.js';
import type { Store } from '../../src/store/store.js';
import { parseCarrierId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { reading, romOf } from '../store/invented.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewStore } from '../visit/newStore.js';
import { OPENED } from '../visit/situation.js';
import { written } from './someReadings.js';

const PAGE = readFileSync('docs/export.md', 'utf8');
const example = (language: string): string =>
  new RegExp(`^\`\`\`${language}\n([\\s\\S]*?)^\`\`\``, 'm').exec(PAGE)![1]!;

let store: Store;
eachInNewStore((each) => {
  store = each;
  const slot = { type: 'probe-assigned', carrier: parseCarrierId('1E3')!, slot: 1, at: utcMs(0) } as const;
  store.append(OPENED, { ...slot, rom: romOf(0) });
  store.transaction(() =>
    store.addReadings([
      reading(0, 0, { raw: 480 }),
      reading(0, 1, { raw: 496 }),
      // Not used, and far off.
      reading(0, 2, { raw: 160, status: 'bad-crc' }),
    ]),
  );
});
const folder = mkdtempSync(join(tmpdir(), 'stillwarm-export-docs-'));
afterAll(() => rmSync(folder, { recursive: true }));

const r = (code: string): string => {
  const { stdout, stderr } = spawnSync('Rscript', ['--vanilla', '-'], {
    input: code,
    cwd: folder,
    encoding: 'utf8',
  });
  expect(stderr).toBe('');
  return stdout;
};

it.skipIf(whyNot('Rscript') !== null)(
  'the example in R gives the mean of what was used, by probe',
  async () => {
    writeFileSync(join(folder, 'morning.csv'), await written(store, csvEncoder(PLAIN)));
    // By hand: 480 / 16 = 30 and 496 / 16 = 31.
    expect(r(example('r'))).toMatch(new RegExp(`${romOf(0)}\\s+30\\.5\\s*$`));
    const names = `${example('r')}\ncat(unique(r$carrier))`;
    expect(r(names)).toMatch(/\b1E3$/);
    // Negative control: left to guess, R makes a number of the carrier.
    expect(r(names.replace('colClasses = c(carrier = "character"), ', ''))).toMatch(/\b1000$/);
  },
);

it('the example in SQL gives the same of the Parquet file', async () => {
  writeFileSync(join(folder, 'carrier-a.parquet'), await written(store, parquetEncoder({}, 1000)));
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  const sql = example('sql').replace('carrier-a.parquet', join(folder, 'carrier-a.parquet'));
  const rows = (await connection.runAndReadAll(sql)).getRowObjectsJson();
  connection.closeSync();
  expect(rows).toMatchObject([{ probe: romOf(0), 'avg(celsius)': 30.5 }]);
});
