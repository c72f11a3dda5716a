import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { InfluxDB } from 'influx';
import { batches } from '../../src/mirror/batches.js';
import { connect } from '../../src/mirror/connection.js';
import type { Point } from '../../src/mirror/points.js';
import { runPump } from '../../src/mirror/pump.js';
import { BATCH_MAX } from '../../src/mirror/session.js';
import { targetFromJson } from '../../src/mirror/target.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { systemClock } from '../../src/units/clock.js';
import { addBacklog, aim, NINE } from '../mirror/rig.js';
import { missingPackages } from '../tools/debianPrograms.js';
import { type Influx, influx } from '../tools/timeSeriesServers.js';
import { type Row, sameAnswer, timed } from './row.js';

/** A day of two carriers: twelve probes each, a scan every ten seconds. */
const SCANS = 8640;

/** The mirror as it is: from the store, recording durably how far it came. */
async function pumped(store: Store): Promise<void> {
  const stop = new AbortController();
  await runPump({
    store,
    clock: systemClock,
    connect: async (target) => connect(target, null, systemClock),
    say: () => {},
    signal: stop.signal,
    onProgress: ({ isDone, state }) => {
      if (state === 'waiting' || state === 'stopped') throw new Error(`the mirror is ${state}`);
      if (isDone) stop.abort();
    },
  });
}

/** The client alone, with the same batches ready in memory. */
async function bare(url: string, ready: readonly Point[][]): Promise<void> {
  const { hostname: host, port } = new URL(url);
  const client = new InfluxDB({ host, port: Number(port), database: 'bees' });
  for (const points of ready) await client.writePoints(points, { precision: 'ms' });
}

function batchesOf(store: Store): Point[][] {
  const source = batches(store);
  const all: Point[][] = [];
  for (let from = { readings: 0, facts: 0 }; ; ) {
    const batch = source.next(from, BATCH_MAX);
    if (batch === null) return all;
    if (batch.points.length > 0) all.push([...batch.points]);
    from = batch.to;
  }
}

const count = async (db: Influx) =>
  Number((await db.query('SELECT count(usable) FROM stillwarm_reading'))[0]?.[1] ?? 0);

async function measure() {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-bench-'));
  const db = await influx(join(folder, 'influx'));
  const store = openStoreToWrite(join(folder, 'x.sqlite'), NINE);
  try {
    await db.start();
    for (const boot of [1, 2]) addBacklog(store, 0, SCANS, boot);
    const emptied = async () => {
      await db.query('DROP DATABASE bees').catch(() => {});
      await db.query('CREATE DATABASE bees');
    };
    const target = targetFromJson(JSON.stringify(aim(store, db.url)));
    const ready = batchesOf(store);
    await emptied();
    const other = (await timed(() => bare(target.url, ready))).seconds;
    const bareCount = await count(db);
    await emptied();
    const ours = (await timed(() => pumped(store))).seconds;
    sameAnswer('readings on the server', await count(db), bareCount);
    sameAnswer('readings on the server', bareCount, 2 * 12 * SCANS);
    return { ours, other };
  } finally {
    store.close();
    await db.stop('SIGKILL');
    rmSync(folder, { recursive: true, force: true });
  }
}

const missing = missingPackages(['influxd']);
if (missing.length > 0)
  process.stderr.write(`mirror: skipped, needs the Debian package ${missing.join(', ')}\n`);

export const rows: readonly Row[] =
  missing.length > 0
    ? []
    : [
        {
          name: 'mirror: 207360 readings from the store',
          against: 'the bare client, the same batches in memory',
          aim: { atLeast: 0.9 },
          runs: 5,
          measure,
        },
      ];
