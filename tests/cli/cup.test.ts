import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { inFolder } from '../end-to-end/program.js';
import { oneCup, ROM } from './oneCup.js';
import { run } from './run.js';

describe('cup', () => {
  it('mend what was written down wrongly, and show both', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const by = ['--by', 'the second of the crew', '--store', store];
      const show = async () => (await run(['cup', 'show', 'c1', '--store', store])).out;
      const seated = /^(\d+) .*seated in A:1/m.exec(await show())![1]!;
      const mended = await run(
        [
          'cup',
          'correct',
          '--cup',
          'c1',
          '--entry',
          seated,
          '--time',
          '09:06',
          '--slot',
          '2',
          '--why',
          'misread',
        ].concat(by),
      );
      expect(mended).toMatchObject({
        code: 0,
        out: `cup c1, entry ${seated}: now seated in A:2 at 2026-05-12T09:06:00+00:00\n`,
      });
      expect(await show()).toContain(`entry ${seated} corrected: misread`);
      const turn = /^(\d+) .*turned/m.exec(await show())![1]!;
      const refused = await run(['cup', 'withdraw', 'c1', '--entry', turn, '--why', 'no'].concat(by));
      expect(refused.code).toBe(1);
      expect(refused.err).toContain('Then what is on record for');
      const lift = /^(\d+) .*lifted/m.exec(await show())![1]!;
      expect((await run(['cup', 'withdraw', 'c1', '--entry', lift, '--why', 'no'].concat(by))).err).toContain(
        'sits in A:2 already',
      );
      const result = JSON.parse((await run(['visit', 'result', 'v1', '--json', '--store', store])).out);
      expect(result.rulings.cups[0].remarks.join('\n')).toContain('by the second of the crew');
    });
  });

  it('take back a count that was typed for another cup: it is not read again', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const by = ['--why', 'it was c2', '--by', 'the second of the crew', '--store', store];
      const show = async () => (await run(['cup', 'show', 'c1', '--store', store])).out;
      const result = async () =>
        JSON.parse((await run(['visit', 'result', 'v1', '--json', '--store', store])).out);
      expect((await result()).yards[0].cups.unread).toBe(0);
      await run(['cup', 'count', 'c1', '--tray', '9'].concat(by));
      const count = /^(\d+) .*counted: tray 7, wash 3, bees 310/m.exec(await show())![1]!;
      const correction = /^(\d+) .*count corrected: tray from 7 to 9/m.exec(await show())![1]!;
      expect(await run(['cup', 'withdraw', 'c1', '--entry', count].concat(by))).toMatchObject({
        code: 0,
        out: `cup c1: entry ${count} is withdrawn, with it entry ${correction}, which corrected it; tray not read, wash not read, bees not read\n`,
      });
      expect(await show()).toContain('turned, not read: tray, wash, bees');
      expect(await show()).toContain(
        `entry ${count} withdrawn (counted: tray 7, wash 3, bees 310): it was c2`,
      );
      const { yards, rulings } = await result();
      expect(yards[0].cups).toMatchObject({ valid: 0, excluded: 1 });
      expect(yards[0].tray).toBe(0);
      expect(rulings.cups[0].remarks.join('\n')).toMatch(
        /withdrawn: counted: tray 7, wash 3, bees 310 at .*, by the second of the crew at .*: it was c2/,
      );
      expect((await run(['cup', 'withdraw', 'c1', '--entry', count].concat(by))).err).toContain(
        `has no entry ${count}`,
      );
    });
  });

  it('loads a cup into its slot at once, or, when the slot is taken, not at all', async () => {
    await inFolder(async (folder) => {
      const on = ['--store', join(folder, 'x.sqlite')];
      for (const line of [
        ['visit', 'open', 'v1', '--yard', 'alder-07'],
        ['probe', 'assign', 'A:3', ROM],
        ['cup', 'load', 'c1', '--slot', 'A:3'],
      ])
        expect((await run([...line, ...on])).code).toBe(0);
      const refused = await run(['cup', 'load', 'c2', '--slot', 'A:3', ...on]);
      expect(refused).toMatchObject({ code: 1, out: '' });
      const { cups } = JSON.parse((await run(['cup', 'list', '--json', ...on])).out);
      expect(cups).toMatchObject([{ cup: 'c1', slot: 'A:3' }]);
    });
  });

  it('replace a cup that went cold at once, count it nowhere and keep it', async () => {
    await inFolder(async (folder) => {
      const on = ['--store', join(folder, 'x.sqlite')];
      for (const line of [
        ['visit', 'open', 'v1', '--yard', 'alder-07'],
        ['probe', 'assign', 'A:3', ROM],
        ['cup', 'load', '--cup', 'c1', '--colony', '17', '--within', '2m'],
        ['cup', 'seat', '--cup', 'c1', '--slot', '3'],
        ['cup', 'replace', '--cup', 'c1', '--with', 'c2', '--slot', '3', '--why', 'cold when seated'],
      ])
        expect((await run([...line, ...on])).code).toBe(0);
      const { cups } = JSON.parse((await run(['cup', 'list', '--json', ...on])).out);
      expect(cups).toMatchObject([
        { cup: 'c1', colony: '17', isSpoiled: true, replacedBy: 'c2', slot: null },
        { cup: 'c2', colony: '17', isSpoiled: false, slot: 'A:3' },
      ]);
    });
  });

  it('take washes one by one, and bees that were estimated with how sure that is', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const count = (...options: string[]) => run(['cup', 'count', 'c1', ...options, '--store', store]);
      expect((await count('--wash-again', '1')).out).toContain('wash 4 (3 + 1)');
      expect((await count('--bees', '320', '--bees-how', 'estimated')).err).toContain('give --bees-cv');
      expect((await count('--bees-cv', '10')).err).toContain('say which with --bees-how');
      expect((await count('--dead', 'most')).code).toBe(0);
    });
  });
});
