import { execFileSync } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, writeFileSync } from 'node:fs';
import { type AddressInfo, connect } from 'node:net';
import { join } from 'node:path';
import { createServer, type Server } from 'node:tls';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { whyNot } from '../tools/debianPrograms.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { type Influx, influx } from '../tools/timeSeriesServers.js';
import { docsRow, rowOf } from './faultTable.js';
import { difference, NO_DIFFERENCE } from './onServer.js';
import { aim, logScans, NINE, type Pumping, pumping } from './rig.js';

let folder: string;
let store: Store;
let pump: Pumping;
const file = (name: string) => join(folder, name);

describe.skipIf(whyNot('influxd', 'openssl'))(
  `the mirror and who may write ${whyNot('influxd', 'openssl') ?? ''}`,
  () => {
    allInNewFolder((fresh) => {
      folder = fresh;
    });
    beforeEach(() => {
      store = openStoreToWrite(file(`${Math.round(performance.now() * 1000)}.sqlite`), NINE);
      logScans(store, 0, 5);
    });
    afterEach(async () => {
      await pump.stop();
      store.close();
    });

    describe('on a server that asks for a password', () => {
      let db: Influx;
      beforeAll(async () => {
        db = await influx(file('auth'), { auth: 'admin:a' });
        await db.start();
        await db.query("CREATE USER admin WITH PASSWORD 'a' WITH ALL PRIVILEGES", '');
        await db.query("CREATE USER bee WITH PASSWORD 'r:ght'", '');
      });
      afterAll(() => db.stop('SIGKILL'));
      beforeEach(async () => {
        await db.query('DROP DATABASE bees', '');
        await db.query('CREATE DATABASE bees', '');
        await db.query('GRANT WRITE ON bees TO bee', '');
      });
      const write = (line: string) => writeFileSync(file('credentials'), `${line}\n`, { mode: 0o600 });
      const start = () => aim(store, db.url, { credentialsFile: file('credentials'), fromStart: false });

      it.each([
        ['a wrong password', 'bee:wrong', /does not accept the credentials \(401\); check user and password/],
        ['an unknown user', 'wasp:x', /does not accept the credentials \(401\)/],
        ['a line that is no credentials', 'bee', /The first line of .* is not USER:PASSWORD/],
      ])('stops at %s, and sends with the right one', async (_, line, words) => {
        write(line);
        start();
        pump = pumping(store);
        await pump.until('it stops', ({ state }) => state === 'stopped');
        expect(store.mirror()!.trouble!.words).toMatch(words);
        expect(store.mirror()!.sent.readings).toBe(0);
        write('bee:r:ght');
        start();
        await pump.until('caught up', ({ isDone }) => isDone);
        const found = await difference(store, db);
        expect(found).toEqual({ stored: 60, onServer: 60, ...NO_DIFFERENCE });
        const fault = '401, then the right password (`tests/mirror/trust.test.ts`)';
        expect(docsRow(fault)).toBe(rowOf(fault, found));
      });

      it('stops when no credentials are given', async () => {
        aim(store, db.url);
        pump = pumping(store);
        await pump.until('it stops', ({ state }) => state === 'stopped');
        expect(store.mirror()!.trouble!.words).toContain('(401)');
      });

      it('stops at a user who may not write there', async () => {
        await db.query('REVOKE WRITE ON bees FROM bee', '');
        write('bee:r:ght');
        start();
        pump = pumping(store);
        await pump.until('it stops', ({ state }) => state === 'stopped');
        expect(store.mirror()!.trouble!.words).toBe(
          'the server does not let this user write (403); give it the right to write',
        );
      });
    });

    describe('over TLS', () => {
      let db: Influx;
      let front: Server;
      let url: string;
      beforeAll(async () => {
        const [key, certificate] = [file('key.pem'), file('certificate.pem')];
        const subject = ['-subj', '/CN=127.0.0.1', '-addext', 'subjectAltName=IP:127.0.0.1'];
        const kind = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes', '-days', '2'];
        const files = ['-keyout', key, '-out', certificate];
        execFileSync('openssl', ['req', '-x509', ...kind, ...subject, ...files], { stdio: 'ignore' });
        db = await influx(file('tls'));
        await db.start();
        await db.query('CREATE DATABASE bees');
        front = createServer({ key: readFileSync(key), cert: readFileSync(certificate) }, (near) => {
          const far = connect(Number(new URL(db.url).port), '127.0.0.1');
          for (const [one, other] of [[near, far] as const, [far, near] as const])
            one
              .on('error', () => {})
              .on('close', () => other.destroy())
              .pipe(other);
        }).listen(0, '127.0.0.1');
        await once(front, 'listening');
        url = `https://127.0.0.1:${(front.address() as AddressInfo).port}`;
      });
      afterAll(async () => {
        front.close();
        await db.stop('SIGKILL');
      });

      it('stops at a certificate that nobody vouches for, and sends when its authority is named', async () => {
        aim(store, url);
        pump = pumping(store);
        await pump.until('it stops', ({ state }) => state === 'stopped');
        expect(store.mirror()!.trouble!.words).toBe(
          'the server’s certificate cannot be trusted (DEPTH_ZERO_SELF_SIGNED_CERT); name its authority with --ca',
        );
        aim(store, url, { caFile: file('certificate.pem') });
        await pump.until('caught up', ({ isDone }) => isDone);
        expect(await difference(store, db)).toEqual({ stored: 60, onServer: 60, ...NO_DIFFERENCE });
      });

      it('stops at a certificate of another name', async () => {
        aim(store, url.replace('127.0.0.1', 'localhost'), { caFile: file('certificate.pem') });
        pump = pumping(store);
        await pump.until('it stops', ({ state }) => state === 'stopped');
        expect(store.mirror()!.trouble!.words).toContain('ERR_TLS_CERT_ALTNAME_INVALID');
      });
    });
  },
);
