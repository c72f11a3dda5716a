import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { main } from '../../src/cli/main.js';
import { openStoreToRead } from '../../src/store/store.js';
import { whyNot } from '../tools/debianPrograms.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { type Influx, influx } from '../tools/timeSeriesServers.js';
import { proxy, type TcpProxy } from './proxy.js';
import { quickClock } from './rig.js';

let folder: string;
let db: Influx;
let between: TcpProxy;
let store: string;
const credentials = (line: string): string => {
  const file = join(folder, 'credentials');
  writeFileSync(file, `${line}\n`, { mode: 0o600 });
  return file;
};

/** Sets the mirror up with the real clock, twenty times as fast. */
async function setUp(...args: string[]): Promise<{ code: number; last: string; err: string }> {
  const said = { out: [] as string[], err: [] as string[] };
  const io = { out: (text: string) => said.out.push(text), err: (text: string) => said.err.push(text) };
  const code = await main(['mirror', 'setup', ...args, '--database', 'bees', '--store', store], {
    io: io as never,
    clock: quickClock,
  });
  return { code, last: said.out.at(-1)!, err: said.err.join('\n').replace(/\s+/g, ' ') };
}
const onRecord = () => {
  const opened = openStoreToRead(store);
  const { isOn, state, trouble } = opened.mirror()!;
  opened.close();
  return { isOn, state, trouble: trouble?.words ?? null };
};

describe.skipIf(whyNot('influxd'))(`mirror setup on InfluxDB ${whyNot('influxd') ?? ''}`, () => {
  allInNewFolder(async (fresh) => {
    folder = fresh;
    db = await influx(join(folder, 'influx'), { auth: 'admin:a' });
    await db.start();
    between = await proxy(db.url);
    await db.query("CREATE USER admin WITH PASSWORD 'a' WITH ALL PRIVILEGES", '');
    await db.query("CREATE USER bee WITH PASSWORD 'right'", '');
  });
  afterAll(async () => {
    await between.close();
    await db.stop('SIGKILL');
  });
  beforeEach(async () => {
    store = join(folder, `${Math.round(performance.now() * 1000)}.sqlite`);
    between.way = 'pass';
    await db.query('DROP DATABASE bees', '');
    await db.query('CREATE DATABASE bees', '');
    await db.query('GRANT WRITE ON bees TO bee', '');
  });

  it('says that the server answers and takes writes, and leaves nothing there', async () => {
    expect(await setUp(db.url, '--credentials', credentials('bee:right'))).toEqual({
      code: 0,
      last: 'The server answers, and takes what this user writes there.',
      err: '',
    });
    expect(await db.query('SHOW MEASUREMENTS')).toEqual([]);
    expect(onRecord()).toEqual({ isOn: true, state: 'new', trouble: null });
  });

  it.each([
    ['bee:wrong', /does not accept the credentials \(401\); check user and password\. The mirror stays on/],
    [
      null,
      /\(401\).*\(tried without: no --credentials were given, and STILLWARM_MIRROR_CREDENTIALS is not set here\)/,
    ],
  ])('fails the check with credentials %s, and stays set up', async (line, words) => {
    const named = line === null ? [] : ['--credentials', credentials(line)];
    const { code, err } = await setUp(db.url, ...named);
    expect(code).toBe(3);
    expect(err).toMatch(words);
    expect(err).not.toContain('wrong');
    expect(onRecord()).toEqual({ isOn: true, state: 'stopped', trouble: expect.stringContaining('(401)') });
  });

  it('fails the check for a user who may not write there, and for a database that is not there', async () => {
    await db.query('REVOKE WRITE ON bees FROM bee', '');
    const mayNot = await setUp(db.url, '--credentials', credentials('bee:right'));
    expect(mayNot).toMatchObject({
      code: 3,
      err: expect.stringContaining('does not let this user write (403)'),
    });
    await db.query('DROP DATABASE bees', '');
    const none = await setUp(db.url, '--credentials', credentials('admin:a'));
    expect(none).toMatchObject({
      code: 3,
      err: expect.stringContaining('no such database or address (404)'),
    });
    expect(onRecord()).toMatchObject({ state: 'stopped', trouble: expect.stringContaining('(404)') });
  });

  it('does not refuse for a server that is not there or does not answer, and says so', async () => {
    between.way = 'hold';
    const held = await setUp(between.url, '--credentials', credentials('bee:right'));
    expect(held.code).toBe(0);
    expect(held.err).toBe(
      'The server was tried and did not take an empty batch: the server does not answer in time. The mirror stays on: it is tried again, and what the server has not got waits in the store.',
    );
    await db.stop('SIGTERM');
    const gone = await setUp(db.url, '--credentials', credentials('bee:right'));
    await db.start();
    expect(gone).toMatchObject({ code: 0, err: expect.stringContaining('nothing listens') });
    expect(onRecord()).toEqual({
      isOn: true,
      state: 'waiting',
      trouble: expect.stringContaining('nothing listens'),
    });
  });
});
