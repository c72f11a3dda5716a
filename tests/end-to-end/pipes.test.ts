import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { oneCup } from '../cli/oneCup.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { PROGRAM } from './program.js';

/** A program that waits for the other end of a pipe is deaf to everything but a kill, so it runs as a process of its own. */
let folder: string;
let pipe: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  pipe = join(folder, 'pipe');
  execFileSync('mkfifo', ['-m', '600', pipe]);
  // Of an image the check sum is read first.
  writeFileSync(`${pipe}.sha256`, '');
});

/** Against hanging only: it answers in a fraction of that. */
const TIMEOUT_MS = 60_000;
const run = (args: readonly string[]) =>
  spawnSync(process.execPath, [PROGRAM, ...args], { encoding: 'utf8', timeout: TIMEOUT_MS });

const setup = ['mirror', 'setup', 'https://127.0.0.1:1', '--database', 'd'];
describe.skipIf(process.platform === 'win32')('a pipe where a file belongs', () => {
  it.each([
    ['a store that is read', ['visit', 'list', '--store', 'PIPE']],
    ['a store that is logged to', ['log', '--store', 'PIPE', '--one-wire', 'FOLDER']],
    ['a backup', ['restore', '--store', 'FOLDER/new.sqlite', '--from', 'PIPE']],
    ['a recording to replay', ['replay', 'PIPE', '--store', 'FOLDER/new.sqlite']],
    [
      'a recording to write',
      ['log', '--store', 'FOLDER/s.sqlite', '--one-wire', 'FOLDER', '--record', 'PIPE'],
    ],
    ['a file of sources', ['log', '--store', 'FOLDER/s.sqlite', '--sources', 'PIPE']],
    ['credentials', [...setup, '--store', 'FOLDER/s.sqlite', '--credentials', 'PIPE']],
    ['certificates', [...setup, '--store', 'FOLDER/s.sqlite', '--ca', 'PIPE']],
    ['a rule set', ['judge', '--readings', 'r', '--exposures', 'e', '--rules', 'PIPE']],
    ['a firmware image', ['carrier', 'flash', '--port', '/dev/null', '--image', 'PIPE', '--dry-run']],
  ])(
    'is refused in one sentence as %s',
    (_what, args) => {
      const { status, stderr } = run(args.map((arg) => arg.replace('PIPE', pipe).replace('FOLDER', folder)));
      expect(status).toBe(1);
      const lines = stderr.split('\n').filter((line) => line.includes(pipe));
      expect(lines).toHaveLength(1);
      expect(lines[0]).toMatch(/is a pipe, not a file; \S.*\.$/);
    },
    120_000,
  );

  it.each([
    ['the page of a visit', ['report', 'lab', '--visit', 'v1'], 'PIPE'],
    ['the page of a visit', ['report', 'lab', '--visit', 'v1'], '/dev/stdout'],
    ['the page of a visit', ['report', 'lab', '--visit', 'v1'], '/dev/fd/1'],
    ['the page of a visit', ['report', 'lab', '--visit', 'v1'], '/proc/self/fd/1'],
    ['the page for a beekeeper', ['report', 'beekeeper', '--visit', 'v1'], '/dev/fd/1'],
    ['a season', ['season', '--visit', 'v1', '--final'], '/dev/fd/1'],
    ['readings', ['export', '--format', 'csv'], '/dev/fd/1'],
    ['a bundle', ['bundle', 'write', '--visit', 'v1'], '/dev/fd/1'],
    ['a copy', ['backup'], '/dev/fd/1'],
    ['a plan', ['plan', 'day', '--yard', 'alder-07=1', '--carrier', 'A=1'], '/dev/fd/1'],
  ])(
    'is refused in one sentence as a place for %s: %j --out %s',
    async (_what, args, out) => {
      const store = await oneCup(folder);
      const path = out.replace('PIPE', pipe);
      const line = '"$0" "$@" | cat; exit $PIPESTATUS';
      const words = [PROGRAM, ...args, '--store', store, '--out', path];
      const told = { encoding: 'utf8', timeout: TIMEOUT_MS } as const;
      const { status, stdout, stderr } = spawnSync('bash', ['-c', line, process.execPath, ...words], told);
      expect([status, stdout]).toEqual([1, '']);
      const lines = stderr.split('\n').filter((each) => each.includes(path));
      expect(lines).toHaveLength(1);
      expect(lines[0]).toMatch(/(is a pipe, not a file|exists, and nothing is overwritten); \S.*\.$/);
    },
    120_000,
  );

  it('is not read as the chain of a bundle', () => {
    mkdirSync(join(folder, 'facts'));
    execFileSync('mkfifo', [join(folder, 'facts', 'a.jsonl')]);
    const module = new URL('../../.build/src/bundle/checkFacts.js', import.meta.url).href;
    const script = `const { readChain } = await import('${module}');
      process.stdout.write(String(readChain('${folder}', { store: 'a' }).facts));`;
    const read = spawnSync(process.execPath, ['--input-type=module', '-e', script], {
      encoding: 'utf8',
      timeout: TIMEOUT_MS,
    });
    expect(read.stdout).toBe('null');
  }, 120_000);

  // What this process was given open waits for nobody.
  it('is read as standard input', () => {
    const line = `echo no JSON | "$0" "$@"`;
    const args = [PROGRAM, 'log', '--store', join(folder, 's.sqlite'), '--sources', '/dev/stdin'];
    const { stderr } = spawnSync('sh', ['-c', line, process.execPath, ...args], { encoding: 'utf8' });
    expect(stderr).toContain('is not JSON');
  }, 120_000);
});
