import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { machineAt } from '../../../src/cli/checkup/machine.js';
import { startedLogger } from '../../../src/cli/checkup/startedLogger.js';

let root: string;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'stillwarm-proc-'));
});
afterEach(() => rmSync(root, { recursive: true }));

/** A process as proc(5) shows it: its words, each with a NUL behind, and where it runs. */
function process(pid: string, words: readonly string[], cwd: string | null): void {
  mkdirSync(join(root, 'proc', pid), { recursive: true });
  writeFileSync(join(root, 'proc', pid, 'cmdline'), words.map((word) => `${word}\0`).join(''));
  if (cwd !== null) symlinkSync(cwd, join(root, 'proc', pid, 'cwd'));
}
const started = (store: string) => startedLogger(store, machineAt(root));
const log = ['/usr/bin/node', '/opt/stillwarm/.build/src/cli/stillwarm.js', 'log', '--port', '/dev/x'];

it('sees a logger by the store that its command line names', () => {
  process('10', [...log, '--store', '/data/s.sqlite'], null);
  process('11', [...log, '--store', 'bees/s.sqlite'], '/home/a');
  process('12', ['/usr/bin/node', '/usr/local/bin/stillwarm', 'log', '--store=t.sqlite'], '/home/a');
  process('13', log, '/home/b');
  expect(started('/data/s.sqlite')).toBe(10);
  expect(started('/home/a/bees/s.sqlite')).toBe(11);
  expect(started('/home/a/t.sqlite')).toBe(12);
  expect(started('/home/b/stillwarm.sqlite')).toBe(13);
  expect(started('/home/c/stillwarm.sqlite')).toBeNull();
});

it('sees one whose store was named through a link, and no other beside it', () => {
  mkdirSync(join(root, 'data'));
  mkdirSync(join(root, 'home'));
  for (const name of ['s.sqlite', 'other.sqlite']) writeFileSync(join(root, 'data', name), '');
  symlinkSync('../data/s.sqlite', join(root, 'home', 'link.sqlite'));
  symlinkSync('data', join(root, 'bees'));
  process('10', [...log, '--store', 'link.sqlite'], '/home');
  process('11', [...log, '--store', '/bees/other.sqlite'], '/');
  expect(started('/data/s.sqlite')).toBe(10);
  expect(started('/data/other.sqlite')).toBe(11);
  expect(started('/bees/s.sqlite')).toBe(10);
  expect(started('/data/third.sqlite')).toBeNull();
});

it('sees one that was started with options of Node', () => {
  process('10', ['node', '--max-old-space-size=99', '/x/stillwarm.js', 'log', '--store', '/s.sqlite'], '/');
  process('11', ['/usr/bin/stillwarm', 'log', '--store', '/t.sqlite'], '/');
  expect(['/s.sqlite', '/t.sqlite'].map(started)).toEqual([10, 11]);
});

it('takes no other program and no other command for a logger', () => {
  const store = ['--store', '/data/s.sqlite'];
  process('10', ['/usr/bin/node', '/x/stillwarm.js', 'watch', ...store], '/');
  process('11', ['/usr/bin/node', '/x/other.js', 'log', ...store], '/');
  process('12', ['sh', '-c', 'node stillwarm.js log --store /data/s.sqlite'], '/');
  mkdirSync(join(root, 'proc', 'sys'));
  for (const [index, program] of ['grep', 'vi', 'less', '/usr/bin/tail'].entries())
    process(`2${index}`, [program, 'stillwarm', 'log', ...store], '/');
  process('30', ['node', '/x/other.js', 'stillwarm', 'log', ...store], '/');
  process('31', ['grep', '-r', '/x/stillwarm.js', 'log', ...store], '/');
  process('32', [], '/');
  expect(started('/data/s.sqlite')).toBeNull();
});
