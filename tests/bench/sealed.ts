import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { judgeExposure } from '../../src/exposure/judge.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { CupRuling, Exposure } from '../../src/exposure/types.js';
import { UNCORRECTED } from '../../src/exposure/uncertainty.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { crc8, parseRomId, type RomId } from '../../src/units/ids.js';
import { durationMs, later, MS_PER_MINUTE, utcMs } from '../../src/units/time.js';
import { NOT_COMMISSIONED } from '../../src/visit/commissioned.js';
import { observations } from '../../src/visit/exposures.js';
import { ruleExposure } from '../../src/visit/ruling.js';
import { agree, PER_CUP, PERIOD_MS, SQL_ROWS, TOTALS_SQL, totalsOf } from './judging.js';
import { type Row, timed } from './row.js';

/** The season of `judging.ts` as a store holds it: twelve probes, a cup in each for three hours, then an hour of nothing. */
const PROBES = 12;
const ROUND_MS = 240 * MS_PER_MINUTE;
const START = utcMs(Date.UTC(2026, 2, 1));
const CUPS = Math.ceil(10_000_000 / PER_CUP);
export const FEW_CUPS = 108 * PROBES;
const BOARD = '0000ABCD';

const roms = Array.from({ length: PROBES }, (_, serial): RomId => {
  const bytes = [0x28, serial, 0x9b, 0xbb, 0x0b, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
});
const roundOf = (cup: number) => Math.floor(cup / PROBES);
const loadOf = (cup: number) => later(START, durationMs(roundOf(cup) * ROUND_MS));
const exposureOf = (cup: number): Exposure => {
  const from = loadOf(cup);
  const to = later(from, durationMs((PER_CUP - 1) * PERIOD_MS));
  return {
    cup: `c${cup}`,
    load: from,
    turn: to,
    precision: { load: durationMs(0), turn: durationMs(0) },
    seatings: [{ probe: roms[cup % PROBES]!, from, to, uncertainty: UNCORRECTED }],
    spoiled: null,
    remarks: [],
  };
};

/** The readings of one round of cups as rows, as a logger writes them: scan by scan, the board's counter a little slow. */
const ROUND_SQL = `
  WITH RECURSIVE cup(c) AS (SELECT ?1 UNION ALL SELECT c + 1 FROM cup WHERE c < ?1 + ?2 - 1),
  step(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM step WHERE i < ${PER_CUP - 1})
  INSERT INTO readings (epoch, scan, slot_index, probe, board_ms, utc_ms, raw, status)
  SELECT 1, ?3 + i, c - ?1, c - ?1 + 1, ?4 + i * ${PERIOD_MS}, ?5 + i * ${PERIOD_MS},
    224 + abs((i + c * 37) % 512 - 256), 'ok'
  FROM step, cup WHERE i = 0 OR i = ${PER_CUP - 1} OR i % 500 < 492 ORDER BY i, c`;

const folder = mkdtempSync(join(tmpdir(), 'stillwarm-sealed-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
const hourSeconds: number[] = [];

/** A store with the readings of so many cups, each hour sealed when it had ended, or never. */
export function season(cups: number, isSealed: boolean): { path: string; store: Store } {
  const path = join(folder, `${cups}-${isSealed}`);
  const store = openStoreToWrite(path, START);
  const sqlite = openSqlite(path, 'write');
  sqlite.run('INSERT INTO epochs (id, board, boot) VALUES (1, ?, 1)', BOARD);
  for (const [index, rom] of roms.entries())
    sqlite.run('INSERT INTO probes (id, rom) VALUES (?, ?)', index + 1, rom);
  for (let first = 0; first < cups; first += PROBES) {
    const count = Math.min(PROBES, cups - first);
    const elapsed = roundOf(first) * ROUND_MS;
    const values = { 1: first, 2: count, 3: roundOf(first) * PER_CUP, 4: elapsed + 77, 5: START + elapsed };
    const sql = ROUND_SQL.replaceAll(/\?(\d)/g, (_, number: string) =>
      String(values[Number(number) as 1 | 2 | 3 | 4 | 5]),
    );
    sqlite.exec(sql);
    const end = later(START, durationMs(elapsed + ROUND_MS));
    while (isSealed) {
      const begun = performance.now();
      if (store.sealOldest(end, Number.MAX_SAFE_INTEGER, end) === null) break;
      hourSeconds.push((performance.now() - begun) / 1000);
    }
  }
  sqlite.exec('PRAGMA wal_checkpoint(TRUNCATE)');
  sqlite.close();
  return { path, store };
}

const judge = (store: Store, cups: number): CupRuling[] =>
  Array.from({ length: cups }, (_, cup) =>
    ruleExposure(store, exposureOf(cup), NOT_COMMISSIONED, DEFAULT_RULES),
  );

/** As stored readings were judged before there were blocks. */
const byObjects = (store: Store, cups: number): CupRuling[] =>
  Array.from({ length: cups }, (_, cup) => {
    const exposure = exposureOf(cup);
    return judgeExposure(
      exposure,
      (probe) => observations(store.readings(probe as RomId, exposure.load, exposure.turn), NOT_COMMISSIONED),
      DEFAULT_RULES,
    );
  });

const againstRows = (against: string, aim: Row['aim'], theirs: typeof judge): Row => ({
  name: 'sealed: judging 1.4 million readings of a store again',
  against,
  aim,
  runs: 3,
  async measure() {
    const sealed = openStoreToWrite(join(folder, `${FEW_CUPS}-true`), START);
    const plain = openStoreToWrite(join(folder, `${FEW_CUPS}-false`), START);
    const other = await timed(() => theirs(plain, FEW_CUPS));
    const ours = await timed(() => judge(sealed, FEW_CUPS));
    agree('rows', totalsOf(ours.value), totalsOf(other.value));
    sealed.close();
    plain.close();
    return { ours: ours.seconds, other: other.seconds };
  },
});

let made: ReturnType<typeof season> | null = null;
const whole = () => {
  made ??= season(CUPS, true);
  return made;
};
const bytesOf = (path: string) => statSync(path).size;

export const rows: readonly Row[] = [
  {
    name: 'sealed: bytes a reading, a season of 10 million',
    against: 'one byte',
    aim: { atMost: 3 },
    runs: 1,
    unit: 'thousandths of a byte',
    async measure() {
      const { path, store } = whole();
      const bytes = (bytesOf(path) / store.readingCount()) * 1000;
      return { ours: bytes, other: 1000 };
    },
  },
  {
    name: 'sealed: bytes a reading',
    against: 'as rows, 1.4 million readings',
    aim: null,
    runs: 1,
    unit: 'thousandths of a byte',
    async measure() {
      const sealed = season(FEW_CUPS, true);
      const plain = season(FEW_CUPS, false);
      const each = ({ path, store }: ReturnType<typeof season>) =>
        (bytesOf(path) / store.readingCount()) * 1000;
      return { ours: each(sealed), other: each(plain) };
    },
  },
  againstRows('from rows, an object for each reading', { atLeast: 10 }, byObjects),
  againstRows('from rows, as columns', null, judge),
  {
    name: 'sealed: judging 10 million readings of a store again',
    against: 'DuckDB on its own file, window functions in SQL',
    aim: { atLeast: 10 },
    runs: 3,
    async measure() {
      const { store } = whole();
      const path = join(folder, 'duck');
      rmSync(path, { force: true });
      const making = await (await DuckDBInstance.create(path)).connect();
      await making.run(`CREATE TABLE readings AS ${SQL_ROWS(CUPS)}`);
      await making.run('CHECKPOINT');
      making.closeSync();
      const connection = await (await DuckDBInstance.create(path)).connect();
      const theirs = await timed(() => connection.runAndReadAll(TOTALS_SQL));
      connection.closeSync();
      const ours = await timed(() => judge(store, CUPS));
      const [row] = theirs.value.getRowObjectsJS() as unknown as { certain: number; possible: number }[];
      agree('DuckDB', totalsOf(ours.value), row!);
      return { ours: ours.seconds, other: theirs.seconds };
    },
  },
  {
    name: 'sealed: sealing an hour of twelve probes, the median',
    against: 'a tenth of a second, how often a board is looked after',
    aim: { atMost: 1 },
    runs: 1,
    async measure() {
      whole();
      const sorted = [...hourSeconds].sort((a, b) => a - b);
      process.stderr.write(`sealing took at most ${sorted.at(-1)!.toFixed(3)} s\n`);
      return { ours: sorted[Math.floor(sorted.length / 2)]!, other: 0.1 };
    },
  },
];
