import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { cautionAt } from '../../src/cli/safety.js';
import { openStoreToRead } from '../../src/store/store.js';
import { inFolder, PROGRAM } from '../end-to-end/program.js';
import { oneCup, ROM } from './oneCup.js';
import { run } from './run.js';

const opensAt = (zone: string, at: string, store: string, now?: string) =>
  run(['visit', 'open', 'v1', '--yard', 'y', '--zone', zone, '--at', at, '--store', store], now);

describe('visit and cup', () => {
  it('say the usual cautions at the opening and before the first wash, and never among results', async () => {
    await inFolder(async (folder) => {
      const on = ['--store', join(folder, 'x.sqlite')];
      const opened = await run(['visit', 'open', 'v1', '--yard', 'alder-07', ...on]);
      expect(opened.err).toContain(cautionAt('visit'));
      expect(opened.out).not.toContain('Safety');
      const turns: boolean[] = [];
      for (const cup of ['c1', 'c2']) {
        await run(['cup', 'load', cup, ...on]);
        turns.push((await run(['cup', 'turn', cup, ...on])).err.includes(cautionAt('wash')));
      }
      expect(turns).toEqual([true, false]);
    });
  });

  it('take a real visit from opening to result', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const list = await run(['visit', 'list', '--json', '--store', store]);
      expect(JSON.parse(list.out)).toEqual({
        visits: [
          {
            visit: 'v1',
            yard: 'alder-07',
            opened: '2026-05-12T09:00:00.000Z',
            closed: '2026-05-12T13:00:00.000Z',
          },
        ],
      });
      const result = JSON.parse((await run(['visit', 'result', 'v1', '--json', '--store', store])).out);
      // Nobody logged: silence is not proof of warmth.
      expect(result.rulings.cups[0]).toMatchObject({
        cup: 'c1',
        ruling: 'unproven',
        exposureMinutes: 181,
        observedMinutes: 0,
      });
      expect(result.yards[0]).toMatchObject({ verdict: 'too-few', cups: { valid: 0, excluded: 1 } });
      expect(result.cups[0]).toMatchObject({ cup: 'c1', efficacy: 0.7 });
      const words = await run(['visit', 'result', 'v1', '--store', store]);
      expect(words.out).toContain('c1: unproven');
      expect(words.out).toContain("Follow the product's label");
    });
  });

  it('echo the time in full', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 's.sqlite');
      const opened = await opensAt('Etc/GMT-2', '2026-05-12T09:00:00Z', store);
      expect(opened.out).toBe('visit v1 to yard y opened at 2026-05-12T11:00:00+02:00, rule set default 1\n');
    });
  });

  it('correct a count only with a reason, and keep what was there', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const silent = await run(['cup', 'count', 'c1', '--tray', '9', '--store', store]);
      expect(silent.code).toBe(1);
      expect(silent.err).toContain(
        'The tray of cup c1 was counted already; to correct that, say why with --why.',
      );
      // Whoever counts again should not know.
      expect(silent.err).not.toMatch(/\b7\b/);
      const corrected = await run([
        'cup',
        'count',
        'c1',
        '--tray',
        '9',
        '--why',
        'counted again',
        '--json',
        '--store',
        store,
      ]);
      expect(JSON.parse(corrected.out)).toMatchObject([
        { type: 'count-corrected', field: 'tray', old: 7, new: 9 },
      ]);
      const result = JSON.parse((await run(['visit', 'result', 'v1', '--json', '--store', store])).out);
      expect(result.cups[0].efficacy).toBe(0.75);
    });
  });

  it('put the ruling on record before the counts, and set it aside only with a reason', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const types = () => {
        const opened = openStoreToRead(store);
        const all = opened.facts().map(({ fact }) => fact.type);
        opened.close();
        return all;
      };
      expect(types().indexOf('cup-ruled')).toBeLessThan(types().indexOf('cup-counted'));
      const silent = await run(['cup', 'overrule', 'c1', 'valid', '--store', store]);
      expect(silent.code).toBe(2);
      const said = await run([
        'cup',
        'overrule',
        'c1',
        'valid',
        '--why',
        'logger was off, cabin at 25',
        '--by',
        'the second of the crew',
        '--store',
        store,
      ]);
      expect(said).toMatchObject({ code: 0, err: '' });
      const words = (await run(['visit', 'result', 'v1', '--store', store])).out;
      expect(words).toContain('Without what people changed after counting or overruled');
      expect(words.replace(/\s+/g, ' ')).toContain(
        'overruled: counts as valid by the word of the second of the crew',
      );
      expect(words.replace(/\s+/g, ' ')).toContain('logger was off, cabin at 25');
    });
  });

  it('tell no ruling and no efficacy while a count is missing, but what is missing', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const on = ['--store', store];
      const told = /unproven|efficacy|infestation|judged|%/;
      const result = async (...more: string[]) => run(['visit', 'result', 'v1', ...more, ...on]);
      // Negative control: all is counted, and told.
      expect((await result()).out).toMatch(told);
      await run(['visit', 'open', 'v2', '--yard', 'alder-07', '--at', '2026-05-12T10:30:00Z', ...on]);
      for (const cup of ['c2', 'c3', 'c4'])
        await run(['cup', 'load', cup, '--visit', 'v2', '--at', '2026-05-12T11:00:00Z', ...on]);
      for (const cup of ['c2', 'c3']) await run(['cup', 'turn', cup, '--at', '2026-05-12T14:00:00Z', ...on]);
      await run(['cup', 'count', 'c2', '--tray', '7', '--wash', '3', ...on]);
      const of = async (...more: string[]) => run(['visit', 'result', 'v2', ...more, ...on]);
      const missing = ['1 to be turned: c4', '1 tray not read: c3', '1 wash not read: c3'];
      const waits = await of();
      expect(waits).toMatchObject({ code: 0, err: '' });
      expect(waits.out).not.toMatch(told);
      for (const line of missing) expect(waits.out).toContain(`\n${line}\n`);
      expect(waits.out).toContain('visit result v2 --final');
      // Told all the same: both say that counting is not blind then.
      const final = await of('--final');
      expect(final.out).toMatch(/^Not fully counted .*must not\s+see this result/s);
      expect(final.out).toMatch(told);
      const json = await of('--json');
      expect(json.err).toContain('must not see this result');
      expect(JSON.parse(json.out).yards[0].cups).toMatchObject({ excluded: 2, unread: 1 });
      // A cup that will never be read is spoiled; closing the visit changes nothing: washes are read later.
      await run(['cup', 'spoil', 'c4', '--why', 'fell over', ...on]);
      await run(['visit', 'close', 'v2', ...on]);
      expect((await of()).out).toContain(missing[1]);
      expect((await of()).out).not.toContain('c4');
      expect((await of()).out).not.toMatch(told);
      await run(['cup', 'spoil', 'c3', '--why', 'was thrown away', ...on]);
      const whole = await of();
      expect(whole.out).toMatch(told);
      expect(whole.out).not.toContain('must not');
      expect((await of('--json')).err).toBe('');
    });
  });

  it('tell no ruling that is recorded with a count, to programs either', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const on = ['--store', store];
      await run(['visit', 'open', 'v2', '--yard', 'y', '--at', '2026-05-12T10:30:00Z', ...on]);
      await run(['cup', 'load', 'c2', '--visit', 'v2', '--at', '2026-05-12T11:00:00Z', ...on]);
      await run(['cup', 'turn', 'c2', '--at', '2026-05-12T14:00:00Z', ...on]);
      const counted = await run(['cup', 'count', 'c2', '--tray', '7', '--json', ...on]);
      expect(JSON.parse(counted.out)).toMatchObject([{ type: 'cup-counted', tray: 7 }]);
      // Negative control: it is on record.
      const opened = openStoreToRead(store);
      const types = opened.facts().map(({ fact }) => fact.type);
      opened.close();
      expect(types.slice(-2)).toEqual(['cup-ruled', 'cup-counted']);
    });
  });

  it('say how long to pre-warm at the opening, and how slowly the probes followed in the result', async () => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const opened = await run(['visit', 'open', 'v2', '--yard', 'alder-08', '--store', store]);
      expect(opened.err.replace(/\s+/g, ' ')).toContain(
        'Carrier A: how slowly the probes follow was never measured',
      );
      const words = (await run(['visit', 'result', 'v1', '--store', store])).out;
      expect(words).toContain('carrier A: lag of its 1 probe not measured');
    });
  });

  it.each([
    ['an unknown visit', ['visit', 'result', 'v9'], 'There is no visit v9 in this store; it has v1.'],
    ['an unknown cup', ['cup', 'turn', 'c9'], 'There is no cup c9; load it first, or check the label.'],
    ['an empty reason', ['cup', 'spoil', 'c1', '--why', ' '], '--why is empty'],
    [
      'a correction of nothing',
      ['cup', 'count', 'c1', '--wash-again', '2', '--why', 'x'],
      'nothing to correct',
    ],
    [
      'an empty active',
      ['visit', 'open', 'v2', '--yard', 'y', '--active', ''],
      'active cannot be recorded (is empty',
    ],
    [
      'a visit in the future',
      ['visit', 'open', 'v2', '--yard', 'y', '--at', '2027-01-01T00:00:00Z'],
      'is in the future',
    ],
    ['a ruling nobody knows', ['cup', 'overrule', 'c1', 'fine', '--why', 'x'], 'fine is not a ruling'],
    [
      'a slot without a number',
      ['cup', 'seat', 'c1', 'A'],
      'A is not a slot; write CARRIER:SLOT, such as A:4',
    ],
    ['a slot too high', ['cup', 'seat', 'c1', 'A:17'], 'with slots from 1 to 16'],
    ['a label with a space', ['cup', 'load', 'c 1'], 'c 1 is not a cup label'],
    ['a count with a comma', ['cup', 'count', 'c1', '--bees', '3,5'], '--bees 3,5 is not a count'],
    [
      'half a time',
      ['cup', 'turn', 'c1', '--at', '9:5'],
      '--at 9:5 is not a time; write HH:MM for today in Etc/UTC',
    ],
    [
      'a ROM id with a wrong digit',
      ['probe', 'assign', 'A:1', ROM.replace('1F', '1E')],
      'copy it from probe list',
    ],
    [
      'a zone nobody knows',
      ['visit', 'open', 'v2', '--yard', 'y', '--zone', 'Mars/One'],
      '--zone Mars/One is not a time zone',
    ],
  ])('refuse %s in one sentence, and record nothing', async (_name, args, sentence) => {
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      const before = readFileSync(store);
      const { code, err, out } = await run([...args, '--store', store]);
      expect(code).toBe(1);
      expect(out).toBe('');
      expect(err).toContain(sentence);
      expect(err.trim().split('\n')).toHaveLength(1);
      expect(readFileSync(store)).toEqual(before);
    });
  });

  it('refuse a store that is another kind of file, and leave it as it was', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 'cups.csv');
      writeFileSync(store, 'cup,tray\n');
      for (const args of [
        ['visit', 'list'],
        ['visit', 'open', 'v1', '--yard', 'y'],
        ['log', '--port', '/dev/null'],
      ]) {
        const { code, err } = await run([...args, '--store', store]);
        expect(code).toBe(1);
        expect(err).toBe(
          `${store} is not a stillwarm store but another kind of file, or its first bytes are damaged; name another file with --store, or restore a backup.\n`,
        );
      }
      expect(readFileSync(store, 'utf8')).toBe('cup,tray\n');
    });
  });

  it('leave no store behind when a visit cannot be opened', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 's.sqlite');
      for (const wrong of [
        ['--at', '2027-01-01T00:00:00Z'],
        ['--zone', 'Mars/One'],
        ['--cups', 'ten'],
      ])
        expect((await run(['visit', 'open', 'v1', '--yard', 'y', ...wrong, '--store', store])).code).toBe(1);
      expect(existsSync(store)).toBe(false);
    });
  });

  it('exit with 2 when the command line is wrong', async () => {
    expect((await run(['cup', 'juggle'])).code).toBe(2);
    expect((await run(['visit', 'open', 'v1'])).code).toBe(2);
    expect((await run(['--help'])).code).toBe(0);
    expect((await run(['log'])).code).toBe(2);
    expect((await run(['--version'])).out).toMatch(/^\d+\.\d+\.\d+\n$/);
  });

  it('read a clock time as today in the zone of the visit', async () => {
    await inFolder(async (folder) => {
      // 03:30 UTC is still the evening before in a zone five hours behind.
      const opened = await opensAt('Etc/GMT+5', '22:15', join(folder, 's.sqlite'), '2026-05-12T03:30:00Z');
      expect(opened.out).toContain('2026-05-11T22:15:00-05:00');
    });
  });

  it.each([
    ['never', '02:30', '2026-03-08T20:00:00Z'],
    ['twice', '01:30', '2026-11-01T20:00:00Z'],
  ])('refuse a clock time that happens %s on the night summer time changes', async (_word, time, now) => {
    // Transitions of America/New_York in 2026: IANA time zone database, reference/sensing.md section 3
    const { code, err } = await opensAt('America/New_York', time, 'unused.sqlite', now);
    expect(code).toBe(1);
    expect(err).toContain('happens twice or never today');
    expect(existsSync('unused.sqlite')).toBe(false);
  });

  it('end with the same code and words as a program of their own', () => {
    const { status, stderr, stdout } = spawnSync(
      process.execPath,
      [PROGRAM, 'visit', 'list', '--store', 'none.sqlite'],
      {
        encoding: 'utf8',
      },
    );
    expect({ status, stdout }).toEqual({ status: 1, stdout: '' });
    expect(stderr).toBe(
      'none.sqlite does not exist; name a store with --store, or open a visit to create one.\n',
    );
  });
});
