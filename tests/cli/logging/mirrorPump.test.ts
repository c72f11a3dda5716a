import { once } from 'node:events';
import { rmSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';
import { mirrored } from '../../../src/cli/logging/mirrorPump.js';
import { openStoreToWrite, type Store } from '../../../src/store/store.js';
import { start, stillwarm, until } from '../../end-to-end/program.js';
import { eachOnInflux } from '../../mirror/eachOnInflux.js';
import { difference, NO_DIFFERENCE } from '../../mirror/onServer.js';
import type { TcpProxy } from '../../mirror/proxy.js';
import { addBacklog, aim, countOf, logScans, NINE, quickClock } from '../../mirror/rig.js';
import { whyNot } from '../../tools/debianPrograms.js';
import type { Influx } from '../../tools/timeSeriesServers.js';

let path: string;
let db: Influx;
let between: TcpProxy;

describe.skipIf(whyNot('influxd'))(`the mirror beside the logger ${whyNot('influxd') ?? ''}`, () => {
  eachOnInflux((fresh) => {
    ({ db, between, path } = fresh);
  });
  afterEach(() => rmSync(path, { force: true }));

  const said: string[] = [];
  const say = (sentence: string) => said.push(sentence);
  const inStore = async <T>(task: (store: Store) => Promise<T>): Promise<T> => {
    const store = openStoreToWrite(path, NINE);
    try {
      return await task(store);
    } finally {
      store.close();
    }
  };

  it('neither holds up nor ends the logging, whatever the server does', async () => {
    await inStore(async (store) => {
      aim(store, between.url);
      between.way = 'hold';
      await mirrored(store, quickClock, say, async () => {
        for (let scan = 0; scan < 50; scan += 1) {
          logScans(store, scan, 1);
          await new Promise((resolve) => setTimeout(resolve, 5));
        }
      });
      // It came to its end although the server still holds a batch.
      expect(countOf(store)).toBe(600);
    });
  });

  it('passes on how the logging ended', async () => {
    await inStore(async (store) => {
      aim(store, between.url);
      await expect(
        mirrored(store, quickClock, say, () => Promise.reject(new Error('board'))),
      ).rejects.toThrow('board');
    });
  });

  it('loses nothing when its process is killed ten times in a backlog', async () => {
    await inStore(async (store) => {
      addBacklog(store, 0, 8000);
      aim(store, between.url);
    });
    let interrupted = 0;
    for (let kill = 0; kill < 10; kill += 1) {
      // After one batch, after two, and so on: how far the mirror got is put down once a second only.
      const before = between.requests();
      const child = start('mirror', 'send', '--store', path);
      const ended = once(child, 'exit');
      await until(
        'it has sent more',
        () => child.exitCode !== null || between.requests() > before + kill,
        20,
      );
      child.kill('SIGKILL');
      await ended;
      if (child.signalCode === 'SIGKILL') interrupted += 1;
    }
    expect(interrupted).toBeGreaterThanOrEqual(5);
    const last = await stillwarm('mirror', 'send', '--store', path);
    expect(last).toEqual({ code: 0, out: 'mirror: behind by 0 readings\n', err: '' });
    await inStore(async (store) => {
      // 12 probes x 8000 scans
      expect(await difference(store, db)).toEqual({ stored: 96_000, onServer: 96_000, ...NO_DIFFERENCE });
    });
  });
});
