import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { type CupLabel, parseCupLabel, parseVisitId, parseYardCode } from '../../src/units/ids.js';
import { later, minutes, utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { whyNot } from '../tools/debianPrograms.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { type Influx, influx } from '../tools/timeSeriesServers.js';
import { aim, BOARD, invented, logScans, NINE, pumping } from './rig.js';

const PAGE = readFileSync('docs/mirror.md', 'utf8');
const QUERIES = [...PAGE.matchAll(/```influxql\n([\s\S]*?)\n```/g)].map((match) => match[1]!);
/** Words that would break lines of the protocol if they were not escaped or replaced. */
const NASTY = 'amitraz strip, 50 % = "x" ä\\';

let db: Influx;
let store: Store;

/** Two yards of two cups; one ruling is overruled, one changes. */
function ruleCups(): void {
  const cup = (name: string) => parseCupLabel(name)!;
  const at = utcMs(NINE);
  const loaded = (visit: string, label: CupLabel): Fact => ({
    type: 'cup-loaded',
    visit: parseVisitId(visit)!,
    cup: label,
    kind: 'strip',
    active: NASTY,
    lot: 'L7\\',
    colony: 'colony-9',
    group: null,
    at,
  });
  const ruled = (label: string, ruling: 'valid' | 'cold' | 'hot'): Fact => ({
    type: 'cup-ruled',
    cup: cup(label),
    ruling,
    reasons: [],
    at: later(at, minutes(200)),
  });
  const say = (minute: number, ...facts: Fact[]) => record(store, later(at, minutes(minute)), () => facts);
  for (const [visit, yard] of [['v1', 'alder-07'] as const, ['v2', 'sedge-12'] as const])
    say(0, {
      type: 'visit-opened',
      visit: parseVisitId(visit)!,
      yard: parseYardCode(yard)!,
      zone: 'UTC',
      at,
      active: null,
      lot: null,
      declaredCups: null,
      rules: {},
    });
  for (const [visit, label] of [
    ['v1', 'a1'],
    ['v1', 'a2'],
    ['v2', 'b1'],
    ['v2', 'b2'],
  ] as const) {
    say(0, loaded(visit, cup(label)));
    say(190, { type: 'cup-turned', cup: cup(label), at: later(at, minutes(180)) });
  }
  say(200, ruled('a1', 'valid'), ruled('a2', 'valid'), ruled('b1', 'valid'), ruled('b2', 'hot'));
  // A late reading; a person's word.
  say(210, ruled('b1', 'cold'));
  const why = store.keepText('a word that stays in the store');
  const overruled: Fact = {
    type: 'cup-overruled',
    cup: cup('b2'),
    ruling: 'valid',
    why,
    at: later(at, minutes(220)),
  };
  say(220, overruled);
  say(230, {
    type: 'cup-counted',
    cup: cup('a1'),
    tray: 71,
    wash: 31,
    bees: 331,
    at: later(at, minutes(230)),
  });
}

describe.skipIf(whyNot('influxd'))(`docs/mirror.md ${whyNot('influxd') ?? ''}`, () => {
  allInNewFolder(async (folder) => {
    db = await influx(join(folder, 'influx'));
    await db.start();
    await db.query('CREATE DATABASE bees');
    store = openStoreToWrite(join(folder, 'x.sqlite'), NINE);
    logScans(store, 0, 120);
    ruleCups();
    aim(store, db.url);
    const pump = pumping(store);
    await pump.until('caught up', ({ isDone }) => isDone);
    await pump.stop();
  });
  afterAll(async () => {
    store.close();
    await db.stop('SIGKILL');
  });

  it('has three queries', () => expect(QUERIES).toHaveLength(3));

  it('shows the mean temperature of each probe in steps of ten minutes', async () => {
    const rows = await db.query(QUERIES[0]!);
    // 120 scans of 10 s are 20 min: two steps for each of twelve probes
    expect(rows).toHaveLength(24);
    const kept = store
      .readings(invented(1), utcMs(0), utcMs(Number.MAX_SAFE_INTEGER))
      .slice(0, 60)
      .map(({ raw }) => raw! / 16);
    expect(rows.map(([, mean]) => mean)).toContain(kept.reduce((sum, one) => sum + one, 0) / kept.length);
  });

  it('shows the probes whose readings fail', async () => {
    const rows = await db.query(QUERIES[1]!);
    expect(rows).toHaveLength(12);
    // One probe of twelve failed in every tenth scan.
    expect(rows.map(([, failed, readings]) => [Math.round(Number(failed)), readings])).toEqual(
      expect.arrayContaining([
        [10, 120],
        [0, 120],
      ]),
    );
    expect(rows.filter(([, failed]) => Math.round(Number(failed)) === 10)).toHaveLength(1);
  });

  it('shows each yard’s share of cups whose latest ruling is valid', async () => {
    // alder-07: both; sedge-12: b1 turned cold, b2 was overruled to valid
    expect(await db.query(QUERIES[2]!)).toEqual([
      [expect.anything(), 1, 2],
      [expect.anything(), 0.5, 2],
    ]);
  });

  it('has rulings with people’s words escaped, each fact a point', async () => {
    const rows = await db.query('SELECT fact, cup, active, lot, ruling, "by", valid FROM stillwarm_ruling');
    expect(rows.map(([, , ...rest]) => rest)).toEqual(
      expect.arrayContaining([['b2', 'amitraz strip, 50 % = "x" ä/', 'L7/', 'valid', 'person', 1]]),
    );
    expect(rows).toHaveLength(6);
    expect(new Set(rows.map(([, fact]) => fact)).size).toBe(6);
  });

  it('names every measurement, tag and field there is, and sends nothing else', async () => {
    const measurements = (await db.query('SHOW MEASUREMENTS')).map(([name]) => String(name));
    expect(measurements).toEqual(['stillwarm_reading', 'stillwarm_ruling']);
    for (const name of measurements) {
      const row = PAGE.split('\n').find((line) => line.startsWith(`| \`${name}\``))!;
      const keys = [
        ...(await db.query(`SHOW TAG KEYS FROM ${name}`)),
        ...(await db.query(`SHOW FIELD KEYS FROM ${name}`)),
      ].map(([key]) => String(key));
      const [, tags, fields] = row.split('|').slice(1);
      // In brackets stand values and explanations.
      const named = [...`${tags} ${fields}`.replace(/\([^)]*\)/g, '').matchAll(/`(\w+)`/g)].map(
        (match) => match[1],
      );
      expect(keys.sort()).toEqual(named.sort());
    }
    const everything = JSON.stringify([
      await db.query('SELECT * FROM stillwarm_reading'),
      await db.query('SELECT * FROM stillwarm_ruling'),
    ]);
    // Colonies and people's reasons; for counts there is no field.
    for (const kept of ['colony-9', 'stays in the store']) expect(everything).not.toContain(kept);
    expect(everything).toContain(BOARD);
  });
});
