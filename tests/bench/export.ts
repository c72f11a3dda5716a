import { once } from 'node:events';
import { createWriteStream, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { csvEncoder, PLAIN } from '../../src/export/csv.js';
import type { Encoder } from '../../src/export/encoder.js';
import { exportSeries } from '../../src/export/exportSeries.js';
import { newFile } from '../../src/export/newFile.js';
import { parquetEncoder } from '../../src/export/parquet.js';
import { type ExportRow, type Selection, seriesOf } from '../../src/export/rows.js';
import { foldSeason } from '../../src/visit/season.js';
import { type Row, sameAnswer, timed } from './row.js';
import { FEW_CUPS, season } from './sealed.js';

/** 1.4 million readings of twelve probes, sealed, from the store to a file. */
const ALL: Selection = {
  from: 0 as Selection['from'],
  to: Number.MAX_SAFE_INTEGER as Selection['to'],
  probes: null,
  isWanted: null,
};
const folder = mkdtempSync(join(tmpdir(), 'stillwarm-export-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
const fileOf = (name: string) => {
  const path = join(folder, name);
  rmSync(path, { force: true });
  return path;
};

let made: ReturnType<typeof season> | null = null;
const store = () => {
  made ??= season(FEW_CUPS, true);
  return made.store;
};

async function ours(path: string, encoder: Encoder, selection = ALL): Promise<number> {
  const exported = await newFile(path, process.pid, (write) =>
    exportSeries(
      store(),
      foldSeason(store().facts()),
      selection,
      encoder,
      write,
      new AbortController().signal,
    ),
  );
  return exported.rows;
}
const csv = (path: string, selection = ALL) => ours(path, csvEncoder(PLAIN), selection);
const parquet = (path: string) => ours(path, parquetEncoder({}));

/** The same lines from values that are ready in memory, through a file stream, nothing looked at, nothing synced. */
async function bareStream(path: string, rows: readonly ExportRow[]): Promise<void> {
  const out = createWriteStream(path);
  out.write(
    'probe,time_utc,time_within_ms,celsius,is_used,raw_sixteenths,offset_celsius,status,gap_s,carrier,slot,store,board,boot,scan,slot_index,board_ms,reading\r\n',
  );
  let lines = '';
  for (const { reading: r, store: id, within, celsius, offset, isUsed, gapSeconds, place } of rows) {
    lines += `${r.rom},${new Date(r.utc).toISOString()},${within},${celsius},${isUsed},${r.raw},${offset ?? ''},${r.status},${gapSeconds ?? ''},${place?.carrier ?? ''},${place?.slot ?? ''},store-${id},board-${r.board},${r.boot},${r.scan},${r.slotIndex},${r.boardMs},${r.id}\r\n`;
    if (lines.length < 1 << 16) continue;
    if (!out.write(lines)) await once(out, 'drain');
    lines = '';
  }
  out.end(lines);
  await once(out, 'close');
}

/** Three probes: so many rows are held in memory for the bare stream that more would slow down whatever runs beside it. */
const some = (): Selection => ({ ...ALL, probes: store().probes().slice(0, 3) });
let inMemory: ExportRow[] | null = null;
const readyRows = () => {
  inMemory ??= [...seriesOf(store(), foldSeason(store().facts()), some())].flatMap(({ rows }) => [...rows]);
  return inMemory;
};

/** A table of DuckDB's own with the same rows, and the seconds that COPY takes with it. */
let table: Awaited<ReturnType<DuckDBInstance['connect']>> | null = null;
async function duckCopy(to: string, format: string): Promise<number> {
  if (table === null) {
    const path = fileOf('for-duck.csv');
    await csv(path);
    table = await (await DuckDBInstance.create(fileOf('duck'))).connect();
    await table.run(`CREATE TABLE readings AS SELECT * FROM read_csv('${path}')`);
    await table.run('CHECKPOINT');
  }
  const connection = table;
  return (await timed(() => connection.run(`COPY readings TO '${to}' (${format})`))).seconds;
}

/** Rows and the sum of temperatures of a file, as DuckDB reads it. */
async function contents(path: string): Promise<{ rows: number; sum: number }> {
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  const found = await connection.runAndReadAll(
    `SELECT COUNT(*)::DOUBLE AS rows, SUM(celsius)::DOUBLE AS sum FROM '${path}'`,
  );
  return found.getRowObjectsJS()[0] as { rows: number; sum: number };
}

async function agree(one: string, other: string): Promise<void> {
  const [a, b] = [await contents(one), await contents(other)];
  sameAnswer('rows', a.rows, b.rows);
  sameAnswer('sum of temperatures', a.sum, b.sum);
}

const against = (
  name: string,
  peer: string,
  aim: Row['aim'],
  write: (path: string) => Promise<number>,
  theirs: (path: string) => Promise<number>,
  ending: string,
): Row => ({
  name: `export: ${name} from sealed blocks to a file`,
  against: peer,
  aim,
  runs: 3,
  async measure() {
    const [one, other] = [fileOf(`ours.${ending}`), fileOf(`theirs.${ending}`)];
    store();
    const seconds = await theirs(other);
    const { seconds: mine, value: rows } = await timed(() => write(one));
    await agree(one, other);
    process.stderr.write(`${name}: ${Math.round(rows / mine)} rows/s, ${statSync(one).size} bytes\n`);
    return { ours: mine, other: seconds };
  },
});

export const rows: readonly Row[] = [
  // First, while no rows are held in memory: the peak is that of an export.
  against(
    'CSV of 1.4 million readings',
    'DuckDB COPY of a table of its own',
    null,
    csv,
    (to) => duckCopy(to, 'FORMAT csv'),
    'csv',
  ),
  against(
    'Parquet of 1.4 million readings',
    'DuckDB COPY of a table of its own, Snappy',
    null,
    parquet,
    (to) => duckCopy(to, 'FORMAT parquet, COMPRESSION snappy'),
    'parquet',
  ),
  against(
    'CSV of 350 000 readings',
    'a bare stream of the same lines from memory',
    { atLeast: 0.5 },
    (path) => csv(path, some()),
    async (to) => {
      const ready = readyRows();
      const { seconds } = await timed(() => bareStream(to, ready));
      await csv(fileOf('again.csv'), some());
      if (!readFileSync(to).equals(readFileSync(join(folder, 'again.csv'))))
        throw new Error('the bare stream is not the same file');
      return seconds;
    },
    'csv',
  ),
];
