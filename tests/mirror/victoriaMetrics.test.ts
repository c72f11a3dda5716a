import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import type { Clock } from '../../src/units/clock.js';
import { monotonicMs } from '../../src/units/time.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { type TimeSeriesServer, victoriaMetrics } from '../tools/timeSeriesServers.js';
import { addBacklog, aim, NINE, type Pumping, pumping, quickClock } from './rig.js';

let server: TimeSeriesServer;
let store: Store;
let pump: Pumping;
/** What the test has the clock run ahead by, milliseconds. */
let ahead: number;
const clock: Clock = { ...quickClock, monotonic: () => monotonicMs(performance.now() + ahead) };

/** How many readings the server has, counted from every sample it gives out. */
async function onServer(): Promise<number> {
  await fetch(`${server.url}/internal/force_flush`);
  const query = new URLSearchParams({ 'match[]': 'stillwarm_reading_usable', start: '2026-01-01T00:00:00Z' });
  const lines = (await (await fetch(`${server.url}/api/v1/export?${query}`)).text()).split('\n');
  return lines
    .filter((line) => line !== '')
    .reduce((sum, line) => sum + (JSON.parse(line) as { values: number[] }).values.length, 0);
}

describe.skipIf(whyNot('victoria-metrics'))(
  `the mirror on VictoriaMetrics ${whyNot('victoria-metrics') ?? ''}`,
  () => {
    eachInNewFolder(async (folder) => {
      server = await victoriaMetrics(join(folder, 'data'));
      await server.start();
      store = openStoreToWrite(join(folder, 'x.sqlite'), NINE);
      ahead = 0;
    });
    afterEach(async () => {
      await pump.stop();
      await server.stop('SIGKILL');
      store.close();
    });
    const acknowledged = () => pump.until('acknowledged', ({ isAcknowledged }) => isAcknowledged);

    it('has each reading once although it lost what it had acknowledged', async () => {
      addBacklog(store, 0, 360);
      aim(store, server.url, { holdSeconds: 60 });
      pump = pumping(store, { clock });
      await acknowledged();
      ahead += 59_000;
      await server.stop('SIGKILL');
      await server.start();
      addBacklog(store, 360, 1);
      await pump.until('it has noticed', () => store.mirror()!.sent.readings === 4332);
      await acknowledged();
      // 12 probes x 361 scans
      expect(await onServer()).toBe(4332);
      expect(store.mirror()!.released.readings).toBe(0);
      ahead += 61_000;
      await pump.until('released', ({ isDone }) => isDone);
      expect(store.mirror()!.released.readings).toBe(4332);
    });

    it('does lose some when rows are released at once: its acknowledgement is not durable', async () => {
      addBacklog(store, 0, 360);
      aim(store, server.url, { holdSeconds: 0 });
      pump = pumping(store, { clock });
      await acknowledged();
      expect(store.mirror()!.released.readings).toBe(4320);
      await server.stop('SIGKILL');
      await server.start();
      addBacklog(store, 360, 1);
      await pump.until('sent', () => store.mirror()!.sent.readings === 4332);
      expect(await onServer()).toBeLessThan(4332);
    });
  },
);
