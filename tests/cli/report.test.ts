import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { inFolder } from '../end-to-end/program.js';
import { oneCup } from './oneCup.js';
import { run } from './run.js';

describe('report beekeeper', () => {
  it('prints the page of a store, or writes it and writes over nothing but a page', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const ask = ['report', 'beekeeper', '--visit', 'v1', '--store', store];
      const printed = await run(ask);
      expect(printed.out).toMatch(/^<!doctype html>[\s\S]*Yard alder-07[\s\S]*<\/html>\n$/);
      const out = join(folder, 'page.html');
      for (const _twice of [1, 2])
        expect(await run([...ask, '--out', out])).toMatchObject({ code: 0, out: '' });
      expect(readFileSync(out, 'utf8')).toBe(printed.out);
      const foreign = join(folder, 'notes.txt');
      writeFileSync(foreign, 'mine');
      for (const other of [foreign, store]) {
        const before = readFileSync(other);
        expect(await run([...ask, '--out', other])).toMatchObject({ code: 1 });
        expect(readFileSync(other).equals(before)).toBe(true);
      }
    });
  });

  it('prints the message alone, and refuses what it does not know in one sentence', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const ask = (...more: string[]) => run(['report', 'beekeeper', '--store', store, ...more]);
      expect((await ask('--visit', 'v1', '--message')).out).toMatch(/^Yard alder-07: .{20,140}\n$/);
      const refused = [
        ['--visit', 'v2'],
        ['--visit', 'v1', '--language', 'xx'],
        ['--visit', 'v1', '--action-level', 'two', '--action-source', 'a', '--action-date', 'b'],
        ['--visit', 'v1', '--out', join(folder, 'no', 'page.html')],
      ];
      for (const each of refused) expect(await ask(...each)).toMatchObject({ code: 1, out: '' });
      expect(await ask('--visit', 'v1', '--action-level', '2')).toMatchObject({ code: 2, out: '' });
    });
  });
});

describe('report lab', () => {
  it('prints all of a visit', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const { code, out } = await run(['report', 'lab', '--visit', 'v1', '--store', store]);
      expect(code).toBe(0);
      expect(out).toMatch(/^<!doctype html>[\s\S]*c1[\s\S]*unproven[\s\S]*<\/html>\n$/);
      expect(await run(['report', 'lab', '--visit', 'v2', '--store', store])).toMatchObject({
        code: 1,
        out: '',
      });
    });
  });
});
