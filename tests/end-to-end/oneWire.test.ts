import { mkdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openStoreToRead } from '../../src/store/store.js';
import { parseRomId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { ds18b20 } from '../carrier/host/scratchpads.js';
import { slaveName, slaveText } from '../carrier/oneWire/kernel.js';
import { inFolder, start, stillwarm, until } from './program.js';

// ROM id that checks: published clone report, CC BY
const rom = parseRomId('28-13-9B-BB-0B-00-00-1F')!;

/** A folder as the kernel shows its buses, with one probe, and a driver that converts when it is asked to. */
function bus(folder: string): { root: string; stop: () => void } {
  const root = join(folder, 'devices');
  const master = join(root, 'w1_bus_master1');
  const name = slaveName(rom);
  mkdirSync(join(master, name), { recursive: true });
  symlinkSync(join('w1_bus_master1', name), join(root, name));
  const bulk = join(master, 'therm_bulk_read');
  writeFileSync(bulk, '0\n');
  writeFileSync(join(master, name, 'w1_slave'), slaveText(ds18b20(470)));
  let doneAt = 0;
  const timer = setInterval(() => {
    const state = readFileSync(bulk, 'latin1');
    if (state.startsWith('trigger')) {
      writeFileSync(bulk, '-1\n');
      doneAt = performance.now() + 750;
    } else if (state === '-1\n' && performance.now() >= doneAt) writeFileSync(bulk, '1\n');
  }, 20);
  return { root, stop: () => clearInterval(timer) };
}

describe('log --one-wire', () => {
  it('records what the kernel shows, boot after boot, and stops when asked to', async () => {
    await inFolder(async (folder) => {
      const { root, stop } = bus(folder);
      const store = join(folder, 'season.sqlite');
      const recording = join(folder, 'day.jsonl');
      const readings = (path = store) => {
        const opened = openStoreToRead(path);
        try {
          return {
            rows: opened.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)),
            facts: opened.facts().map(({ fact }) => fact),
          };
        } finally {
          opened.close();
        }
      };
      for (const boot of [1, 2]) {
        const logger = start('log', '--store', store, '--one-wire', `${root}=P`, '--record', recording);
        let said = '';
        logger.stderr!.on('data', (text: Buffer) => {
          said += text;
        });
        await until('it is listening', () => said.includes('1 probe found'), 20);
        const { rows } = await until('the first scan is in the store', () => {
          const seen = readings();
          return seen.rows.length === boot && seen;
        });
        logger.kill('SIGTERM');
        await new Promise((resolve) => logger.once('close', resolve));
        expect(logger.exitCode).toBe(0);
        // Whatever a probe holds at first may be of long ago.
        expect(rows.at(-1)).toMatchObject({ boot, scan: 1, raw: 470, status: 'first-conversion' });
        expect(Math.abs(rows.at(-1)!.utc - Date.now())).toBeLessThan(15_000);
      }
      stop();
      const { facts } = readings();
      expect(facts.map(({ type }) => type)).toEqual([
        'store-created',
        'board-bound',
        'board-booted',
        'probes-found',
        'board-booted',
        'probes-found',
      ]);
      expect((await stillwarm('carrier', 'list', '--store', store)).out).toContain(
        'carrier P  firmware linux-1-wire',
      );
    });
  });

  it('says in one sentence that there is no such folder, and leaves no store behind', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 'season.sqlite');
      const { code, out, err } = await stillwarm('log', '--store', store, '--one-wire', join(folder, 'none'));
      expect([code, out]).toEqual([1, '']);
      expect(err.trim().split('\n')).toHaveLength(1);
      expect(err).toContain("cannot be read; load the kernel's 1-Wire drivers");
      expect(() => openStoreToRead(store)).toThrow('does not exist');
    });
  });
});
