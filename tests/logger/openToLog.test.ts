import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openToLog } from '../../src/logger/openToLog.js';
import { backUp } from '../../src/store/backup.js';
import type { Fact } from '../../src/store/facts.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { parseVisitId } from '../../src/units/ids.js';
import { later, minutes } from '../../src/units/time.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { run } from '../cli/run.js';
import { NINE, scans } from '../store/invented.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const closed = (visit: string): Fact => ({ type: 'visit-closed', visit: parseVisitId(visit)!, at: NINE });

let folder: string;
let path: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  path = join(folder, 'x.sqlite');
  // A copy is one file, and no process has it open.
  const made = join(folder, 'made.sqlite');
  const store = openStoreToWrite(made, NINE);
  store.append(NINE, closed('morning-one'), closed('morning-two'));
  store.addReadings(scans(3, 0, 200));
  expect(store.sealOldest(later(NINE, minutes(60)), 10_000, later(NINE, minutes(120)))).not.toBeNull();
  store.close();
  backUp(made, path);
});

/** Overwrites bytes of the file where `what` stands in it. */
function overwrite(what: Buffer | string, by: (bytes: Buffer, at: number) => void): Buffer {
  const bytes = readFileSync(path);
  const at = bytes.indexOf(what);
  expect(at).toBeGreaterThan(0);
  by(bytes, at);
  writeFileSync(path, bytes);
  return bytes;
}
const block = (): Buffer => {
  const sqlite = openSqlite(path, 'read');
  const { bytes } = sqlite.get<{ bytes: ArrayBuffer }>('SELECT bytes FROM blocks ORDER BY id DESC')!;
  sqlite.close();
  return Buffer.from(bytes);
};
/** Begins to log, and gives what was said and whether a store came of it. */
async function opened(clock = new VirtualClock(NINE), signal = new AbortController().signal) {
  const said: string[] = [];
  const alive: string[] = [];
  const opening = openToLog({
    path,
    clock,
    pid: process.pid,
    say: (sentence) => said.push(sentence),
    signal,
    isService: false,
    onAlive: ({ words }) => alive.push(words),
  });
  return { said, alive, opening };
}
/** None of these ports is there: whoever meets the store first does not say so. */
const LOGGERS = [
  ['log', '--port', '/dev/none'],
  ['log', '--emulate', 'cold-morning'],
  ['sync', '--port', '/dev/none'],
  ['mirror', 'send'],
];

describe('a store that is damaged, at the start of a logger', () => {
  it.each([
    [
      'a page',
      () =>
        overwrite('morning-one', (bytes, at) => bytes.fill(0x55, at - (at % 4096), at - (at % 4096) + 64)),
    ],
    ['a letter of a fact', () => overwrite('morning-one', (bytes, at) => bytes.write('z', at))],
  ])('is refused before a port is opened, and left as it is: %s overwritten', async (_, damage) => {
    const bytes = damage();
    for (const command of LOGGERS) {
      const { code, out, err } = await run([...command, '--store', path]);
      expect([code, out]).toEqual([1, '']);
      expect(err.trim().replace(/\s+/g, ' ')).toMatch(
        /x\.sqlite is damaged \(.+\), and nothing was written to it: keep the file as it is, and restore a backup under another name or log into a new store \(--store\); boards keep their scans until then\.$/,
      );
    }
    expect(readFileSync(path)).toEqual(bytes);
  });

  it('names the fact that was changed', async () => {
    overwrite('morning-two', (bytes, at) => bytes.write('z', at));
    const { opening } = await opened();
    await expect(opening).rejects.toThrow(/is damaged \(fact 3 does not follow from the one before\)/);
  });

  it('is logged into when only sealed readings are damaged, and that is told', async () => {
    overwrite(block().subarray(0, 40), (bytes, at) => bytes.fill(0x55, at + 20, at + 24));
    const { said, opening } = await opened();
    (await opening)!.close();
    expect(said).toEqual([
      `${path}: 1 of its blocks of sealed readings is damaged, so rulings have gaps there; checkup names them, an earlier backup may hold them. Everything else is sound, and logging goes on.`,
    ]);
  });

  it('is found in none that is sound, nothing is said, and what it tells of a logger stays (negative control)', async () => {
    const { said, alive, opening } = await opened();
    const store = (await opening)!;
    expect([said, alive, store.logger(), store.changedBlocks()]).toEqual([[], [], null, 0]);
    store.close();
    // Without the damage, it is the port that is not there.
    const { err } = await run(['log', '--port', '/dev/none', '--store', path]);
    expect(err).toContain('Port /dev/none does not exist');
  });
});

describe('a store that cannot be written when a logger starts', () => {
  it('is waited for while another program holds it, and every look is told', async () => {
    const holder = openSqlite(path, 'write');
    holder.exec('BEGIN IMMEDIATE');
    const clock = new VirtualClock(NINE);
    const { said, alive, opening } = await opened(clock);
    expect(said).toEqual([
      expect.stringMatching(
        /^NOTHING CAN BE STORED, so logging has not begun; .* is kept busy by another program/,
      ),
    ]);
    await clock.run(1000);
    holder.exec('ROLLBACK');
    holder.close();
    await clock.run(3000);
    const store = (await opening)!;
    expect(store.facts()).toHaveLength(4);
    store.close();
    expect(said.at(-1)).toBe('logging begins, after 2 s of waiting');
    expect(alive).toHaveLength(1);
  });

  it('is not waited for once the logger is stopped', async () => {
    const holder = openSqlite(path, 'write');
    holder.exec('BEGIN IMMEDIATE');
    const stop = new AbortController();
    const { opening } = await opened(new VirtualClock(NINE), stop.signal);
    stop.abort();
    (await opening)?.close();
    holder.exec('ROLLBACK');
    holder.close();
    const store = openStoreToRead(path);
    expect(store.logger()).toBeNull();
    store.close();
  });

  it('is not waited for when its folder is not there: that does not pass', async () => {
    path = join(folder, 'none', 'x.sqlite');
    const { said, opening } = await opened();
    expect(await opening).toBeNull();
    expect(said).toEqual([]);
    expect(readdirSync(folder)).not.toContain('none');
  });
});
