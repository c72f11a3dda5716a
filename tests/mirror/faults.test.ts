import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it, vi } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { seededChance } from '../../src/units/clock.js';
import { utcMs } from '../../src/units/time.js';
import { whyNot } from '../tools/debianPrograms.js';
import type { Influx } from '../tools/timeSeriesServers.js';
import { eachOnInflux } from './eachOnInflux.js';
import { docsRow, faultsInDocs, rowOf } from './faultTable.js';
import { difference, NO_DIFFERENCE } from './onServer.js';
import { httpAnswer, type TcpProxy, type Way } from './proxy.js';
import { addBacklog, aim, changing, countOf, logScans, NINE, type Pumping, pumping, scan } from './rig.js';

let folder: string;
let db: Influx;
let between: TcpProxy;
let store: Store;
let pump: Pumping | null;

/** The server has all that is stored but for `missing`, and the row of that fault in the docs says so. */
const compared = new Set<string>();
async function asInDocs(fault: string, stored: number, missing = 0): Promise<void> {
  const found = await difference(store, db);
  expect(found).toEqual({ ...NO_DIFFERENCE, stored, onServer: stored - missing, missing });
  expect(docsRow(fault)).toBe(rowOf(fault, found));
  compared.add(fault);
}
const caughtUp = () => pump!.until('caught up', ({ isDone }) => isDone);
const refusals = () =>
  store
    .facts()
    .map(({ fact }) => fact)
    .filter((fact): fact is Extract<Fact, { type: 'mirror-refused' }> => fact.type === 'mirror-refused');

describe.skipIf(whyNot('influxd'))(`the mirror on InfluxDB ${whyNot('influxd') ?? ''}`, () => {
  eachOnInflux((fresh) => {
    ({ folder, db, between } = fresh);
    store = openStoreToWrite(fresh.path, NINE);
    pump = null;
  });
  afterEach(async () => {
    await pump?.stop();
    store.close();
  });

  it('sends an hour of two carriers in a few batches, each reading once', async () => {
    addBacklog(store, 0, 360, 1);
    addBacklog(store, 0, 360, 2);
    const before = between.requests();
    aim(store, between.url);
    pump = pumping(store);
    await caughtUp();
    // 2 carriers x 12 probes x 360 scans
    await asInDocs('none: a backlog of an hour, two carriers of 12 probes', 8640);
    expect(between.requests() - before).toBe(Math.ceil(8640 / 2000));
    expect(store.mirror()).toMatchObject({
      sent: { readings: 8640 },
      released: { readings: 8640 },
      trouble: null,
    });
  });

  it('goes on by itself after the server was stopped and started again', async () => {
    aim(store, db.url);
    logScans(store, 0, 20);
    pump = pumping(store);
    await caughtUp();
    await db.stop('SIGTERM');
    logScans(store, 20, 20);
    await pump.until('it waits', ({ state, failures }) => state === 'waiting' && failures >= 2);
    expect(store.mirror()).toMatchObject({
      state: 'waiting',
      trouble: { words: 'nothing listens at the server’s address' },
    });
    logScans(store, 40, 20);
    await db.start();
    await caughtUp();
    await asInDocs('stopped, readings coming in, started', 720);
    expect(pump.said).toEqual([
      'mirror: nothing listens at the server’s address; what it has not got waits here, and is tried again',
      'mirror: sending again',
    ]);
  });

  it('loses nothing when the server is killed over and over in the middle of a backlog', async () => {
    addBacklog(store, 0, 2000);
    aim(store, db.url);
    pump = pumping(store);
    for (let killed = 0; killed < 3; killed += 1) {
      await pump.until('something is sent', ({ state }) => state === 'sending');
      await db.stop('SIGKILL');
      await pump.until('it waits', ({ state }) => state === 'waiting');
      await db.start();
    }
    await caughtUp();
    await asInDocs('killed (SIGKILL) three times in a backlog', 24_000);
  });

  it('sends again what it has not released when the server was gone while nothing was sent', async () => {
    aim(store, db.url, { holdSeconds: 3600 });
    logScans(store, 0, 20);
    pump = pumping(store);
    await pump.until('acknowledged', ({ isAcknowledged }) => isAcknowledged);
    await db.stop('SIGKILL');
    // As if it had kept the last seconds in memory only.
    for (const part of ['data', 'wal']) rmSync(join(folder, 'influx', part), { recursive: true });
    await db.start();
    logScans(store, 20, 1);
    await pump.until('acknowledged again', () => store.mirror()!.sent.readings === 252);
    await pump.until('all is', ({ isAcknowledged }) => isAcknowledged);
    await asInDocs('killed with its data lost, before release', 252);
    expect(store.mirror()!.released.readings).toBe(0);
  });

  it('gives up on a server that stalls, and logging goes on meanwhile', async () => {
    aim(store, between.url);
    pump = pumping(store);
    between.way = 'hold';
    logScans(store, 0, 10);
    await pump.until('it waits', ({ state }) => state === 'waiting');
    logScans(store, 10, 10);
    expect(countOf(store)).toBe(240);
    expect(store.mirror()!.trouble!.words).toBe('the server does not answer in time');
    between.way = 'pass';
    await caughtUp();
    await asInDocs('stalls for ever', 240);
  });

  it('does no harm by sending what was taken already, when acknowledgements are lost', async () => {
    aim(store, between.url);
    addBacklog(store, 0, 100);
    between.way = 'cut-acknowledgement';
    pump = pumping(store);
    await pump.until('it tried three times', ({ failures }) => failures >= 3);
    expect(await difference(store, db)).toMatchObject({ onServer: 1200 });
    expect(store.mirror()!.sent.readings).toBe(0);
    between.way = 'pass';
    await caughtUp();
    await asInDocs('acknowledgements lost three times', 1200);
  });

  it.each<[string, Way, string]>([
    ['503', httpAnswer('503 Service Unavailable'), 'the server is not available (Service Unavailable)'],
    ['500', httpAnswer('500 Oops', '{"error":"timeout"}'), 'the server is not available (Oops)'],
    ['429', httpAnswer('429 Too Many Requests'), 'the server is not available (429)'],
    ['no HTTP', { answer: 'SSH-2.0-x\r\n' }, 'the connection failed (HPE_INVALID_CONSTANT)'],
    [
      'an answer that breaks off',
      { answer: 'HTTP/1.1 200 OK\r\nContent-Length: 99\r\n\r\nabc' },
      'the server does not answer in time',
    ],
  ])('tries again after %s', async (_, way, words) => {
    aim(store, between.url);
    logScans(store, 0, 5);
    between.way = way;
    pump = pumping(store);
    await pump.until('it waits', ({ state, failures }) => state === 'waiting' && failures >= 2);
    expect(store.mirror()!.trouble!.words).toBe(words);
    between.way = 'pass';
    await caughtUp();
    await asInDocs('each of 503, 500, 429, no HTTP, an answer that breaks off', 60);
  });

  it('has each reading once after forty faults in any order, while readings come in', async () => {
    const chance = seededChance(11);
    const ways: readonly Way[] = [
      'pass',
      'pass',
      'hold',
      'cut-acknowledgement',
      httpAnswer('503 Service Unavailable'),
    ];
    aim(store, between.url);
    pump = pumping(store);
    for (let fault = 0; fault < 40; fault += 1) {
      between.way = ways[Math.floor(chance.uniform() * ways.length)]!;
      logScans(store, fault * 2, 2);
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
    between.way = 'pass';
    await caughtUp();
    await asInDocs('forty of these in any order while logging', 960);
  });

  it('sets aside what the server will not take, takes the rest, and puts that on record once', async () => {
    // A field of another type in the week of boot 1: those readings conflict, those of boot 9 do not.
    const week = (NINE + 86_400_000) * 1e6;
    await fetch(`${db.url}/write?db=bees`, {
      method: 'POST',
      body: `stillwarm_reading,probe=x usable="text" ${week}`,
    });
    logScans(store, 0, 5, 1);
    logScans(store, 0, 5, 9);
    aim(store, db.url);
    pump = pumping(store);
    await caughtUp();
    // The server tells of what it leaves out of one shard before it has written the other.
    await vi.waitFor(async () => {
      const taken = await db.query("SELECT count(usable) FROM stillwarm_reading WHERE boot = '9'");
      expect(taken).toEqual([['1970-01-01T00:00:00Z', 60]]);
    }, 10_000);
    expect(refusals()).toEqual([
      expect.objectContaining({
        what: 'readings',
        count: 60,
        first: 1,
        last: 120,
        why: expect.stringMatching(/^partial write: field type conflict: input field "usable"/),
      }),
    ]);
    expect(store.mirror()).toMatchObject({ refused: 60, sent: { readings: 120 } });
    await db.query("DROP SERIES FROM stillwarm_reading WHERE probe = 'x'");
    await asInDocs('400 partial write: 60 of 120 of another type', 120, 60);
    // Going over it again, as after a crash, does not put it on record again.
    await pump.stop();
    aim(store, db.url, { fromStart: false });
    pump = pumping(store);
    await caughtUp();
    expect(refusals()).toHaveLength(1);
    expect(store.brokenAt()).toBeNull();
  });

  it('stops when the server takes none of a batch, for then it is no row’s fault', async () => {
    const week = (NINE + 86_400_000) * 1e6;
    await fetch(`${db.url}/write?db=bees`, {
      method: 'POST',
      body: `stillwarm_reading,probe=x usable="text" ${week}`,
    });
    logScans(store, 0, 5);
    aim(store, db.url);
    pump = pumping(store);
    await pump.until('it stops', ({ state }) => state === 'stopped');
    expect(refusals()).toEqual([]);
    expect(store.mirror()).toMatchObject({ state: 'stopped', sent: { readings: 0 } });
    await db.query('DROP MEASUREMENT stillwarm_reading');
    aim(store, db.url, { fromStart: false });
    await caughtUp();
    expect(await difference(store, db)).toEqual({ stored: 60, onServer: 60, ...NO_DIFFERENCE });
  });

  it('sets aside what is older than the server keeps', async () => {
    await db.query('ALTER RETENTION POLICY autogen ON bees DURATION 2d SHARD DURATION 1h');
    logScans(store, 0, 5);
    const now = Date.now();
    store.transaction(() => store.addReadings(scan(99, 2).map((each) => ({ ...each, utc: utcMs(now) }))));
    aim(store, db.url);
    pump = pumping(store);
    await caughtUp();
    expect(await db.query('SELECT count(usable) FROM stillwarm_reading')).toEqual([[expect.anything(), 12]]);
    expect(refusals()).toEqual([
      expect.objectContaining({ count: 60, why: expect.stringContaining('retention') }),
    ]);
    await asInDocs('older than the retention policy', 72, 60);
  });

  it('stops at a database that is not there, and goes on when it is', async () => {
    await db.query('DROP DATABASE bees');
    logScans(store, 0, 5);
    aim(store, db.url);
    pump = pumping(store);
    await pump.until('it stops', ({ state }) => state === 'stopped');
    expect(pump.said).toEqual([
      'mirror: the server has no such database or address (404); create the database or correct the address; nothing more is sent until you run mirror setup again or restart the logger',
    ]);
    await db.query('CREATE DATABASE bees');
    aim(store, db.url, { fromStart: false });
    await caughtUp();
    await asInDocs('404, then the database is made', 60);
  });

  it('has every row of the table in docs/mirror.md behind it', () => {
    const elsewhere = ['401, then the right password (`tests/mirror/trust.test.ts`)'];
    expect(faultsInDocs().filter((row) => !compared.has(row))).toEqual(elsewhere);
  });

  describe('the check finds', () => {
    /** Everything there is to be found by: a backlog, a lost acknowledgement, a crash of the logger. */
    async function ordeal(
      twist: Parameters<typeof pumping>[1],
    ): Promise<Awaited<ReturnType<typeof difference>>> {
      aim(store, between.url);
      addBacklog(store, 0, 50);
      between.way = 'cut-acknowledgement';
      pump = pumping(store, twist);
      await pump.until('it failed', ({ failures }) => failures >= 1);
      between.way = 'pass';
      await caughtUp();
      await pump.stop();
      return difference(store, db);
    }

    it('nothing wrong with the mirror as it is', async () => {
      expect(await ordeal({})).toEqual({ stored: 600, onServer: 600, ...NO_DIFFERENCE });
    });

    it('keys that are not unique', async () => {
      const twist = changing(({ tags: { probe: _, ...tags }, ...point }) => ({ ...point, tags }));
      expect(await ordeal({ twist })).toMatchObject({ onServer: 50, missing: 600 });
    });

    it('keys that are not the same each time', async () => {
      let sent = 0;
      const twist = changing((point) => ({ ...point, timestamp: point.timestamp + (sent++ % 7) }));
      const { onServer } = await ordeal({ twist });
      expect(onServer).toBeGreaterThan(600);
    });

    it('a pump that moves on before the acknowledgement', async () => {
      const { missing } = await ordeal({
        twist: (connection) => ({
          isLost: () => false,
          close: () => connection.close(),
          write: async (points) => {
            const answer = await connection.write(points.slice(0, 100));
            return answer.is === 'taken' ? answer : { is: 'again', words: 'x' };
          },
        }),
      });
      expect(missing).toBe(500);
    });

    it('a pump that does not keep how far it came', async () => {
      aim(store, db.url);
      addBacklog(store, 0, 50);
      const forgetful: Store = {
        ...store,
        // Begins with what is newest, as a pump without a durable place does.
        mirror: () => {
          const row = store.mirror();
          const newest = { readings: countOf(store), facts: store.head().count };
          return row && { ...row, released: newest, sent: newest };
        },
      };
      pump = pumping(forgetful);
      await caughtUp();
      await pump.stop();
      logScans(store, 50, 10);
      pump = pumping(forgetful);
      await caughtUp();
      expect(await difference(store, db)).toMatchObject({ stored: 720, missing: 720 });
    });
  });

  it('keeps user and password out of everything it writes', async () => {
    const secret = 'pass:wört-7Qk2';
    const file = join(folder, 'credentials');
    writeFileSync(file, `bee:${secret}\n`, { mode: 0o600 });
    const basic = Buffer.from(`bee:${secret}`).toString('base64');
    logScans(store, 0, 1);
    aim(store, between.url, { credentialsFile: file });
    pump = pumping(store);
    for (const status of ['500 Oops', '400 Bad Request', '401 Unauthorized']) {
      // A server that repeats what it was told.
      between.way = httpAnswer(
        status,
        JSON.stringify({ error: `no: Basic ${basic} ${secret} bee:${secret}` }),
      );
      aim(store, between.url, { credentialsFile: file });
      const state = status.startsWith('5') ? 'waiting' : 'stopped';
      await pump.until(status, (progress) => progress.state === state);
    }
    between.way = 'pass';
    aim(store, between.url, { credentialsFile: file });
    await caughtUp();
    const written = [
      ...pump.said,
      JSON.stringify(store.mirror()),
      JSON.stringify(store.facts()),
      JSON.stringify(await db.query('SELECT * FROM stillwarm_reading')),
    ].join('\n');
    expect(written).toContain('(401)');
    for (const hidden of [secret, basic, 'Qk2']) expect(written).not.toContain(hidden);
  });
});
