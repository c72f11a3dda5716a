import { join } from 'node:path';
import { afterAll, beforeEach } from 'vitest';
import { allInNewFolder } from '../tools/newFolder.js';
import { type Influx, influx } from '../tools/timeSeriesServers.js';
import { proxy, type TcpProxy } from './proxy.js';

/** What a test begins with. */
export interface OnInflux {
  /** Of all the tests; the server's files lie in `influx` below it. */
  readonly folder: string;
  /** An empty database, `bees`. */
  readonly db: Influx;
  /** The way to it, which can be disturbed. */
  readonly between: TcpProxy;
  /** For a store of its own. */
  readonly path: string;
}

/** Runs one InfluxDB behind a proxy for all tests of a `describe`, and begins each of them with it. */
export function eachOnInflux(begin: (fresh: OnInflux) => void): void {
  let folder: string;
  let db: Influx;
  let between: TcpProxy;
  allInNewFolder(async (fresh) => {
    folder = fresh;
    db = await influx(join(folder, 'influx'));
    await db.start();
    between = await proxy(db.url);
  });
  afterAll(async () => {
    await between.close();
    await db.stop('SIGKILL');
  });
  beforeEach(async () => {
    await db.query('DROP DATABASE bees');
    await db.query('CREATE DATABASE bees');
    between.way = 'pass';
    begin({ folder, db, between, path: join(folder, `${Math.round(performance.now() * 1000)}.sqlite`) });
  });
}
