import { cpSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { descriptor, edited, manifestAnew } from '../bundle/tamper.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { oneCup } from './oneCup.js';
import { run } from './run.js';

let folder: string;
let store: string;
let whole: string;
allInNewFolder(async (fresh) => {
  folder = fresh;
  store = await oneCup(folder);
  whole = join(folder, 'whole');
  await run(['bundle', 'write', '--visit', 'v1', '--out', whole, '--store', store]);
});

const bundle = (...args: string[]) => run(['bundle', ...args]);
const HEAD = /^store [0-9a-f]{16}: \d+ facts, chain head [0-9a-f]{64}$/m;

describe('bundle', () => {
  it('`write` says what it wrote, and the head to compare with the report', async () => {
    const out = join(folder, 'said');
    const { code, out: said, err } = await bundle('write', '--visit', 'v1', '--out', out, '--store', store);
    expect([code, err]).toEqual([0, '']);
    expect(said).toMatch(/said holds v1: 1 cup, 0 readings\.$/m);
    expect(said).toMatch(HEAD);
    const json = await bundle(
      'write',
      '--visit',
      'v1',
      '--out',
      join(folder, 'json'),
      '--store',
      store,
      '--json',
    );
    expect(JSON.parse(json.out)).toMatchObject({ visits: ['v1'], cups: 1, readings: 0 });
  });

  it('`write` puts the reports in, without names of people; `--public` none, for they tell yards and colonies', async () => {
    const lab = readFileSync(join(whole, 'reports/lab-v1.html'), 'utf8');
    expect(lab).toContain('(left out)');
    const head = HEAD.exec((await bundle('check', whole)).out)![0]
      .split(' ')
      .at(-1)!;
    expect(lab).toContain(head);
    expect(existsSync(join(whole, 'reports/beekeeper.html'))).toBe(true);
    const out = join(folder, 'public');
    const { code, err } = await bundle('write', '--visit', 'v1', '--out', out, '--store', store, '--public');
    expect([code, existsSync(join(out, 'reports'))]).toEqual([0, false]);
    expect(err).toMatch(/^Look before you publish it: names of actives stay as they were typed \(none\)/);
    expect((await bundle('check', out)).code).toBe(0);
  });

  it('`check` ends with 3 when another version made a page, and never says that all was compared', async () => {
    const out = join(folder, 'forged');
    await bundle('write', '--visit', 'v1', '--out', out, '--store', store);
    edited('reports/beekeeper.html', (text) => text.replace('mites', 'fleas'))(out);
    // Negative control: by this version the forged page is a finding.
    const own = join(folder, 'forged-own');
    cpSync(out, own, { recursive: true });
    manifestAnew(own);
    expect((await bundle('check', own)).out).toMatch(/^reports\/beekeeper\.html, line \d+: has .*fleas/);

    descriptor((json) => {
      json.stillwarm.writtenBy = '0.0.9';
    })(out);
    manifestAnew(out);
    const { code, out: said, err } = await bundle('check', out);
    expect(code).toBe(3);
    expect(said.split('\n')[0]).toMatch(
      /: nothing found in 15 of 17 files; 2 pages could not be compared, because they were made by version 0\.0\.9: check them with that version; 1 cup judged again/,
    );
    expect(err).toMatch(
      /is not checked as a whole: look at what could not be compared \(reports\/beekeeper\.html, reports\/lab-v1\.html\), or check it with stillwarm 0\.0\.9\.$/m,
    );
    expect(JSON.parse((await bundle('check', out, '--json')).out).uncompared).toHaveLength(2);
    // Its chains and readings are whole, and pages are not gathered.
    expect((await bundle('gather', out, '--store', join(folder, 'of-forged.sqlite'))).code).toBe(0);
  });

  it('`check` compares the page of a visit, too, whose cups were still exposed', async () => {
    const apart = join(folder, 'exposed');
    mkdirSync(apart);
    const other = await oneCup(apart);
    const at = ['--at', '2026-05-12T14:00:00Z', '--store', other];
    await run(['visit', 'open', 'v2', '--yard', 'sedge-12', '--zone', 'Etc/UTC', ...at]);
    expect((await run(['cup', 'load', 'c2', ...at])).code).toBe(0);
    const out = join(apart, 'bundle');
    const written = await bundle('write', '--visit', 'v1', 'v2', '--out', out, '--store', other);
    const open = written.err;
    // Who still counts must not see the rulings. Control: the whole bundle, all of whose cups are read, needs no such word.
    expect(open).toMatch(/^1 still to be counted: c2\. Whoever counts them does not open rulings\.csv and/);
    expect((await bundle('check', out)).code).toBe(0);
    // Negative control: a word changed in it.
    edited('reports/lab-v2.html', (text) => text.replace('not fully counted', 'counted'))(out);
    manifestAnew(out);
    const { code, out: said } = await bundle('check', out);
    expect(code).toBe(3);
    expect(said).toMatch(/^reports\/lab-v2\.html, line \d+: has /);
  });

  it('`write --with-people` says whom it is for', async () => {
    const out = join(folder, 'people');
    const { code, err } = await bundle(
      'write',
      '--visit',
      'v1',
      '--out',
      out,
      '--store',
      store,
      '--with-people',
    );
    expect([code, existsSync(join(out, 'texts.csv'))]).toEqual([0, true]);
    expect(err).toMatch(/hand it only to those who may read them/);
  });

  it('`check` gives 0 and what a chain cannot show, 3 and a sentence a finding, 1 for what is no bundle', async () => {
    const clean = await bundle('check', whole);
    expect(clean.code).toBe(0);
    expect(clean.out).toMatch(/nothing found in \d+ files; 1 cup judged again, all equal/);
    expect(clean.out).toMatch(HEAD);
    expect(clean.out).toMatch(/It cannot show by itself that its last facts were cut off/);
    const changed = join(folder, 'changed');
    await bundle('write', '--visit', 'v1', '--out', changed, '--store', store);
    const counts = join(changed, 'counts.csv');
    writeFileSync(counts, readFileSync(counts, 'utf8').replace(',7,3,3,310', ',9,3,3,310'));
    const found = await bundle('check', changed);
    expect(found.code).toBe(3);
    expect(found.out).toContain(
      'counts.csv, line 2, column tray: is "9", and facts and readings give "7".\n',
    );
    expect(found.out).not.toMatch(/nothing found/);
    expect(found.err).toMatch(/changed is not as it was written: \d+ findings\.$/m);
    const json = await bundle('check', changed, '--json');
    expect(json.code).toBe(3);
    expect(JSON.parse(json.out).findings).toContainEqual({
      file: 'counts.csv',
      line: 2,
      column: 'tray',
      what: 'is "9", and facts and readings give "7"',
    });
    expect((await bundle('check', join(folder, 'none'))).code).toBe(1);
  });

  it('`gather` takes a bundle in, says what is new, and refuses a changed one before it makes a store', async () => {
    const other = join(folder, 'other.sqlite');
    const first = await bundle('gather', whole, '--store', other, '--by', 'The lab');
    expect(first.code).toBe(0);
    expect(first.out).toMatch(/^store \w+: (\d+) of its \1 facts are new$/m);
    expect((await bundle('gather', whole, '--store', other)).out).toMatch(/: 0 of its \d+ facts are new$/m);
    const results = await Promise.all(
      [store, other].map((path) => run(['visit', 'result', 'v1', '--store', path, '--json'])),
    );
    expect(JSON.parse(results[1]!.out).yards).toEqual(JSON.parse(results[0]!.out).yards);
    expect(
      (await run(['cup', 'note', 'c1', '--text', 'washed in the lab', '--store', other, '--by', 'The lab']))
        .code,
    ).toBe(0);
    const changed = join(folder, 'changed');
    const none = join(folder, 'none.sqlite');
    const refused = await bundle('gather', changed, '--store', none);
    expect(refused.code).toBe(1);
    expect(refused.err).toMatch(/is not as it was written, so nothing was gathered/);
    expect(existsSync(none)).toBe(false);
  });

  it('`gather` leaves entries with numbers that can be typed, and carriers with the names painted on them', async () => {
    const lab = join(folder, 'numbers.sqlite');
    expect((await bundle('gather', whole, '--store', lab)).code).toBe(0);
    const shown = async (path: string) => (await run(['cup', 'show', 'c1', '--store', path])).out;
    const numbers = (text: string) => [...text.matchAll(/^(\S+) +2026-/gm)].map(([, number]) => number!);
    const own = numbers(await shown(store));
    expect(own.length).toBeGreaterThan(5);
    expect(numbers(await shown(lab))).toEqual(own.map((number) => `1.${number}`));
    expect(await shown(lab)).toContain('seated in A:1 ');

    const load = `1.${own[0]}`;
    const correct = (entry: string, colony: string) =>
      run(['cup', 'correct', 'c1', '--entry', entry, '--colony', colony, '--why', 'a slip', '--store', lab]);
    expect(await correct(load, '8')).toMatchObject({
      code: 0,
      out: expect.stringContaining(`cup c1, entry ${load}: now loaded`),
    });
    expect(await shown(lab)).toMatch(new RegExp(`colony 8[\\s\\S]*^entry ${load} corrected: a slip$`, 'm'));
    // The number in JSON is another form of it.
    const json = JSON.parse((await run(['cup', 'show', 'c1', '--json', '--store', lab])).out);
    expect((await correct(String(json.entries[0].entry), '9')).code).toBe(0);
    // Negative controls: its number in its own store is no entry here, nor is that of another chain.
    for (const entry of [own[0]!, `2.${own[0]}`]) {
      const { code, err } = await correct(entry, '10');
      expect(code).toBe(1);
      expect(err).toContain(`Cup c1 has no entry ${entry}; it has ${load}, `);
    }

    const page = async () => {
      const out = join(folder, 'numbers.html');
      await run(['report', 'lab', '--visit', 'v1', '--out', out, '--store', lab]);
      return readFileSync(out, 'utf8');
    };
    expect(await page()).toMatch(/<figcaption><b>c1<\/b> 9 A:1, then A:1, then A:2 /);
    expect(await page()).not.toMatch(/A@/);
    // A carrier of this store has the same name: now the other's store must be told.
    const at = ['--at', '2026-05-12T14:00:00Z', '--store', lab];
    expect((await run(['probe', 'assign', 'A:3', '28-AA-9B-BB-0B-00-00-8E', ...at])).err).toBe('');
    expect(await page()).toMatch(/<b>c1<\/b> 9 A@[0-9a-f]{16}:1, then A@/);
    expect(await shown(lab)).toMatch(/seated in A@[0-9a-f]{16}:1 /);
  });

  it('`gather` makes no store for bundles that speak against each other', async () => {
    const apart = join(folder, 'apart');
    mkdirSync(apart);
    const other = await oneCup(apart);
    const out = join(apart, 'other');
    await bundle('write', '--visit', 'v1', '--out', out, '--store', other);
    const none = join(apart, 'none.sqlite');
    const refused = await bundle('gather', whole, out, '--store', none);
    expect(refused.code).toBe(1);
    expect(refused.err).toMatch(/^Nothing was gathered, for there (?:is a conflict|are \d+ conflicts):/);
    expect(refused.err).toMatch(/Cup c1 was loaded in store \w+ and in store \w+/);
    expect(readdirSync(apart).filter((name) => name.startsWith('none'))).toEqual([]);
    // Negative control: either of them alone makes one.
    expect((await bundle('gather', out, '--store', none)).code).toBe(0);
    expect(existsSync(none)).toBe(true);
  });

  it('`write` names what an earlier one left that was killed', async () => {
    const out = join(folder, 'left');
    // No process has so high a number on Linux (pid_max is at most 2^22, proc(5)).
    mkdirSync(`${out}.99999999.part`);
    const { code, err } = await bundle('write', '--visit', 'v1', '--out', out, '--store', store);
    expect([code, err]).toEqual([
      0,
      `${out}.99999999.part was left by a bundle write that was killed; nothing needs it, remove it.\n`,
    ]);
    expect(existsSync(`${out}.99999999.part`)).toBe(true);
  });

  it('gives 2 for a wrong command line, and 1 for a visit that is not there', async () => {
    expect((await bundle('write', '--visit', 'v1', '--store', store)).code).toBe(2);
    expect((await bundle('write', '--visit', 'v9', '--out', join(folder, 'v9'), '--store', store)).code).toBe(
      1,
    );
    expect((await bundle('gather', '--store', store)).code).toBe(2);
  });
});
