import { DuckDBInstance } from '@duckdb/node-api';
import { orderedRulings } from '../../src/exposure/orderedRulings.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { CupRuling, Exposure } from '../../src/exposure/types.js';
import { UNCORRECTED } from '../../src/exposure/uncertainty.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { type Celsius, fromSixteenths } from '../../src/units/temperature.js';
import { durationMs, MS_PER_MINUTE, type UtcMs, utcMs } from '../../src/units/time.js';
import { type Row, sameAnswer, timed } from './row.js';

/**
 * Readings by formula, so that every engine has the same: each cup's probe every ten seconds for three
 * hours, a saw between 14 and 30 degC, a seventh of it at or below the threshold, eight readings in 500 missing.
 */
export const PER_CUP = 1080;
export const PERIOD_MS = 10_000;
export const isThere = (index: number) => index === 0 || index === PER_CUP - 1 || index % 500 < 492;
const rawAt = (cup: number, index: number) => 224 + Math.abs(((index + cup * 37) % 512) - 256);
export const SQL_ROWS = (cups: number) => `
  WITH RECURSIVE cup(c) AS (SELECT 0 UNION ALL SELECT c + 1 FROM cup WHERE c < ${cups - 1}),
  step(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM step WHERE i < ${PER_CUP - 1})
  SELECT c AS cup, i * ${PERIOD_MS} AS t, 224 + abs((i + c * 37) % 512 - 256) AS raw
  FROM cup, step WHERE i = 0 OR i = ${PER_CUP - 1} OR i % 500 < 492`;

const { thresholdCelsius, maxGapSeconds } = DEFAULT_RULES;
const CERTAIN = thresholdCelsius - UNCORRECTED;
const POSSIBLE = thresholdCelsius + UNCORRECTED;

interface Columns {
  readonly at: Float64Array;
  readonly celsius: Float64Array;
  /** Where each cup's readings begin, and the end of all. */
  readonly starts: Uint32Array;
}

function columns(cups: number): Columns {
  const at = new Float64Array(cups * PER_CUP);
  const celsius = new Float64Array(cups * PER_CUP);
  const starts = new Uint32Array(cups + 1);
  let next = 0;
  for (let cup = 0; cup < cups; cup += 1) {
    starts[cup] = next;
    for (let index = 0; index < PER_CUP; index += 1) {
      if (!isThere(index)) continue;
      at[next] = index * PERIOD_MS;
      celsius[next] = fromSixteenths(rawAt(cup, index));
      next += 1;
    }
  }
  starts[cups] = next;
  return { at: at.subarray(0, next), celsius: celsius.subarray(0, next), starts };
}

function exposures(cups: number): Exposure[] {
  const [from, to] = [utcMs(0), utcMs((PER_CUP - 1) * PERIOD_MS)];
  const exact = { load: durationMs(0), turn: durationMs(0) };
  return Array.from({ length: cups }, (_, cup) => ({
    cup: `c${cup}`,
    load: from,
    turn: to,
    precision: exact,
    seatings: [{ probe: `p${cup}`, from, to, uncertainty: UNCORRECTED }],
    spoiled: null,
    remarks: [],
  }));
}

function ours(cups: readonly Exposure[], { at, celsius, starts }: Columns): CupRuling[] {
  const judging = orderedRulings(cups.map((exposure) => ({ exposure, rules: DEFAULT_RULES })));
  judging.probes.forEach((probe, cup) => {
    const feed = judging.feedOf(probe);
    for (let index = starts[cup]!; index < starts[cup + 1]!; index += 1)
      feed.take(at[index] as UtcMs, celsius[index] as Celsius);
  });
  return judging.rulings();
}

/** Minutes of all cups together. */
export interface Totals {
  readonly certain: number;
  readonly possible: number;
}

export const totalsOf = (rulings: readonly CupRuling[]): Totals => ({
  certain: rulings.reduce((sum, { coldMinutes }) => sum + coldMinutes.certain, 0),
  possible: rulings.reduce((sum, { coldMinutes }) => sum + coldMinutes.possible, 0),
});

/** The part of a straight line from `a` to `b` that lies below a limit, 0 to 1. */
function partBelow(a: number, b: number, limit: number): number {
  if (a < limit) return b < limit ? 1 : (limit - a) / (b - a);
  return b < limit ? (limit - b) / (a - b) : 0;
}

/** The least a ruling needs: totals below both limits, minimum, maximum and mean, straight over the columns. */
function bareLoop({ at, celsius, starts }: Columns): Totals & { least: number; most: number; sum: number } {
  let certain = 0;
  let possible = 0;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  let sum = 0;
  for (let cup = 0; cup + 1 < starts.length; cup += 1) {
    for (let index = starts[cup]! + 1; index < starts[cup + 1]!; index += 1) {
      const span = at[index]! - at[index - 1]!;
      const [a, b] = [celsius[index - 1]!, celsius[index]!];
      if (span > maxGapSeconds * 1000) {
        possible += span;
        continue;
      }
      certain += span * partBelow(a, b, CERTAIN);
      possible += span * partBelow(a, b, POSSIBLE);
      if (b < least) least = b;
      if (b > most) most = b;
      sum += ((a + b) / 2) * span;
    }
  }
  return { certain: certain / MS_PER_MINUTE, possible: possible / MS_PER_MINUTE, least, most, sum };
}

const partSql = (limit: number) =>
  `CASE WHEN a < ${limit} THEN CASE WHEN b < ${limit} THEN 1.0 ELSE (${limit} - a) / (b - a) END
        WHEN b < ${limit} THEN (${limit} - b) / (a - b) ELSE 0.0 END`;
export const TOTALS_SQL = `
  WITH pairs AS (
    SELECT t - lag(t) OVER w AS span, lag(raw) OVER w / 16.0 AS a, raw / 16.0 AS b
    FROM readings WINDOW w AS (PARTITION BY cup ORDER BY t))
  SELECT sum(CASE WHEN span > ${maxGapSeconds * 1000} THEN 0.0 ELSE span * (${partSql(CERTAIN)}) END) / 60000.0 AS certain,
         sum(CASE WHEN span > ${maxGapSeconds * 1000} THEN span ELSE span * (${partSql(POSSIBLE)}) END) / 60000.0 AS possible
  FROM pairs WHERE span IS NOT NULL`;

export function agree(name: string, mine: Totals, theirs: Totals): void {
  sameAnswer(`certain minutes by ${name}`, mine.certain, theirs.certain);
  sameAnswer(`possible minutes by ${name}`, mine.possible, theirs.possible);
}

const CUPS = Math.ceil(10_000_000 / PER_CUP);
const READINGS = '10 million readings';

/** Made once for all rows of this group. */
let made: { data: Columns; cups: Exposure[]; totals: Totals } | null = null;
function common() {
  if (made === null) {
    const data = columns(CUPS);
    const cups = exposures(CUPS);
    made = { data, cups, totals: totalsOf(ours(cups, data)) };
  }
  return made;
}

const judged = async () => (await timed(() => ours(common().cups, common().data))).seconds;

const growth = (cups: number, before: number): Row => ({
  name: `judging: ${cups * PER_CUP} readings`,
  against: `${before * PER_CUP} readings, ${cups / before} times as many`,
  aim: { atMost: (1.5 * cups) / before },
  runs: 5,
  async measure() {
    const time = async (count: number) => {
      const [data, of] = [columns(count), exposures(count)];
      return (await timed(() => ours(of, data))).seconds;
    };
    return { other: await time(before), ours: await time(cups) };
  },
});

export const rows: readonly Row[] = [
  growth(100, 10),
  growth(1000, 100),
  {
    name: `judging: ${READINGS}`,
    against: 'a bare loop over typed arrays',
    aim: { atMost: 4 },
    runs: 5,
    async measure() {
      const { data, totals } = common();
      const { seconds, value } = await timed(() => bareLoop(data));
      agree('the bare loop', totals, value);
      return { ours: await judged(), other: seconds };
    },
  },
  {
    name: `judging: ${READINGS}`,
    against: 'DuckDB, window functions in SQL',
    aim: null,
    runs: 3,
    async measure() {
      const connection = await (await DuckDBInstance.create(':memory:')).connect();
      await connection.run(`CREATE TABLE readings AS ${SQL_ROWS(CUPS)}`);
      const { seconds, value } = await timed(() => connection.runAndReadAll(TOTALS_SQL));
      const [row] = value.getRowObjectsJS() as unknown as Totals[];
      agree('DuckDB', common().totals, row!);
      connection.closeSync();
      return { ours: await judged(), other: seconds };
    },
  },
  {
    name: `judging: ${READINGS}`,
    against: 'SQLite, window functions in SQL',
    aim: null,
    runs: 1,
    async measure() {
      const sqlite = openSqlite(':memory:', 'read');
      sqlite.exec('PRAGMA query_only = OFF');
      sqlite.exec(`CREATE TABLE readings AS ${SQL_ROWS(CUPS)}`);
      const { seconds, value } = await timed(() =>
        sqlite.get<{ certain: number; possible: number }>(TOTALS_SQL),
      );
      agree('SQLite', common().totals, value!);
      sqlite.close();
      return { ours: await judged(), other: seconds };
    },
  },
];
