import { once } from 'node:events';
import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { writeBundle } from '../../src/bundle/write.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToRead } from '../../src/store/store.js';
import { parseRomId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { MORNING, morningStore, writing } from '../bundle/invented.js';
import { ds18b20 } from '../carrier/host/scratchpads.js';
import { slaveName, slaveText } from '../carrier/oneWire/kernel.js';
import { inFolder, start, stillwarm, until } from './program.js';

/** A logger at work on a source without memory, and a store that somebody else holds or gathers into. */
// ROM id that checks: published clone report, CC BY
const rom = parseRomId('28-13-9B-BB-0B-00-00-1F')!;
const GATHERINGS = 4;
const KILLED = 5;

/** A bus of the kernel with one probe, of a kernel that converts each probe when it is read. */
function bus(folder: string): string {
  const root = join(folder, 'devices');
  const name = slaveName(rom);
  mkdirSync(join(root, 'w1_bus_master1', name), { recursive: true });
  symlinkSync(join('w1_bus_master1', name), join(root, name));
  writeFileSync(join(root, 'w1_bus_master1', name, 'w1_slave'), slaveText(ds18b20(470)));
  return root;
}
async function logger(folder: string, store: string) {
  const child = start('log', '--store', store, '--one-wire', `${bus(folder)}=P`);
  let said = '';
  child.stderr!.on('data', (text: Buffer) => {
    said += text;
  });
  const scans = () => {
    const opened = openStoreToRead(store);
    try {
      return opened.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)).map(({ scan }) => scan);
    } finally {
      opened.close();
    }
  };
  await until('it logs', () => said.includes('1 probe found') && scans().length > 0, 40);
  const stop = async () => {
    child.kill('SIGTERM');
    await once(child, 'close');
    expect(child.exitCode).toBe(0);
  };
  return { said: () => said, scans, stop };
}
/** A bundle of another vehicle. */
async function bundleIn(folder: string): Promise<string> {
  const vehicle = morningStore(join(folder, 'vehicle.sqlite'), MORNING);
  const out = join(folder, 'bundle');
  await writeBundle(vehicle, writing(out));
  vehicle.close();
  return out;
}

describe('a store that another program holds for longer than it is waited for', () => {
  it('is said so to commands and by the logger, which goes on by itself', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 'season.sqlite');
      const { said, scans, stop } = await logger(folder, store);
      const bundle = await bundleIn(folder);
      const holder = openSqlite(store, 'write');
      holder.exec('BEGIN IMMEDIATE');
      for (const command of [
        ['probe', 'assign', 'P:1', rom],
        ['bundle', 'gather', bundle],
      ]) {
        const { code, err } = await stillwarm(...command, '--store', store, '--by', 'C');
        expect([code, err.trim().replace(/\s+/g, ' ')]).toEqual([
          1,
          `${store} is kept busy by another program for more than 5 s; stop that program and try again.`,
        ]);
      }
      // Who only reads need not wait.
      expect((await stillwarm('carrier', 'list', '--store', store)).out).toContain('carrier P');
      await until('the logger says so', () => said().includes('NOTHING CAN BE STORED'));
      holder.exec('ROLLBACK');
      holder.close();
      const before = scans().length;
      await until('it logs again', () => said().includes('stored again, after') && scans().length > before);
      await stop();
      expect(said()).not.toMatch(/database is locked|SQLITE_BUSY/);
    });
  });
});

describe('bundle gather beside a logger', () => {
  it('lets it store every scan, and other commands record', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 'season.sqlite');
      const { said, scans, stop } = await logger(folder, store);
      const bundle = await bundleIn(folder);
      for (let times = 1; times <= GATHERINGS; times += 1) {
        const [gathered, assigned] = await Promise.all([
          stillwarm('bundle', 'gather', bundle, '--store', store, '--by', 'The lab'),
          stillwarm('probe', 'assign', `P:${times}`, rom, '--store', store, '--by', 'C'),
        ]);
        expect([gathered.code, assigned.code]).toEqual([0, 0]);
        expect(gathered.out).toContain(`${times === 1 ? 2400 : 0} readings are new`);
      }
      const enough = scans().length + 1;
      await until('another scan', () => scans().length > enough);
      await stop();
      expect(said()).not.toContain('NOTHING CAN BE STORED');
      const numbers = scans();
      expect(numbers).toEqual(numbers.map((_, index) => numbers[0]! + index));
    });
  });

  it('leaves all or nothing when it is killed, and is made whole by doing it again', async () => {
    await inFolder(async (folder) => {
      const bundle = await bundleIn(folder);
      const found = new Set<number>();
      for (let times = 0; times < KILLED; times += 1) {
        const store = join(folder, `lab-${times}.sqlite`);
        const gathering = start('bundle', 'gather', bundle, '--store', store, '--by', 'The lab');
        const ended = once(gathering, 'close');
        await new Promise((resolve) => setTimeout(resolve, 500 + times * 300));
        gathering.kill('SIGKILL');
        await ended;
        const { code } = await stillwarm('bundle', 'gather', bundle, '--store', store, '--by', 'The lab');
        expect(code).toBe(0);
        const opened = openStoreToRead(store);
        const [own, other] = opened.chains();
        found.add(own!.links.length);
        expect(opened.brokenGathered()).toEqual([]);
        expect(opened.facts().filter(({ fact }) => fact.type === 'chain-gathered')).toMatchObject([
          { fact: { facts: other!.links.length } },
        ]);
        opened.close();
      }
      // Created, and gathered once.
      expect([...found]).toEqual([2]);
    });
  });
});
