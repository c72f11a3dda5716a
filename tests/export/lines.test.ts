import { once } from 'node:events';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { describe, expect, it } from 'vitest';
import { linesEncoder } from '../../src/export/lines.js';
import { batches } from '../../src/mirror/batches.js';
import { connect } from '../../src/mirror/connection.js';
import { lineOf } from '../../src/mirror/line.js';
import { targetOf } from '../../src/mirror/target.js';
import type { Store } from '../../src/store/store.js';
import { quickClock } from '../mirror/rig.js';
import { reading, scans } from '../store/invented.js';
import { eachInNewStore } from '../visit/newStore.js';
import { written } from './someReadings.js';

let store: Store;
eachInNewStore((each) => {
  store = each;
});

/** What the mirror sends of all readings, line by line. */
async function mirrored(): Promise<string[]> {
  let body = '';
  const server = createServer((request, response) => {
    request.setEncoding('utf8').on('data', (text: string) => {
      body += text;
    });
    request.on('end', () => response.writeHead(204).end());
  }).listen(0, '127.0.0.1');
  await once(server, 'listening');
  const target = targetOf({
    address: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    database: 'bees',
    credentialsFile: null,
    caFile: null,
    holdSeconds: 0,
    allowPlainHttp: false,
  });
  const connection = connect(target, null, quickClock);
  const batch = batches(store).next({ readings: 0, facts: 1_000_000 }, 100_000)!;
  expect(await connection.write(batch.points)).toEqual({ is: 'taken' });
  connection.close();
  server.closeAllConnections();
  server.close();
  return body.split('\n');
}
describe('linesEncoder()', () => {
  it('writes the lines that the mirror sends, letter for letter', async () => {
    store.transaction(() => {
      store.addReadings(scans(3, 0, 400));
      store.addReadings([
        reading(0, 500, { raw: null, status: 'missing' }),
        reading(1, 500, { raw: -5 }),
        reading(2, 500, { status: 'unplaced' }),
      ]);
    });
    const lines = (await written(store, linesEncoder())).toString('utf8').trimEnd().split('\n');
    expect(lines.toSorted()).toEqual((await mirrored()).toSorted());
    // The one that nobody can place in time is left out.
    expect(lines).toHaveLength(3 * 401 + 2);
  });

  it('escapes as the mirror does what the protocol needs escaped', () => {
    const tags = { lot: 'a, b=c' };
    expect(lineOf({ measurement: 'm', tags, fields: { valid: 1 }, timestamp: 5 })).toBe(
      'm,lot=a\\,\\ b\\=c valid=1 5',
    );
  });
});
