import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { MORNING, morningStore } from '../bundle/invented.js';
import { allInNewFolder, pathsIn } from '../tools/newFolder.js';
import { changedProgram, interrupted } from './changedProgram.js';
import { PROGRAM, stillwarm } from './program.js';

let folder: string;
let store: string;
allInNewFolder((fresh) => {
  folder = fresh;
  store = join(folder, 'morning.sqlite');
  morningStore(store).close();
});

const newPath = pathsIn(() => folder, 'visit');
const written = (out: string) => [
  'bundle',
  'write',
  '--visit',
  MORNING.visit,
  '--store',
  store,
  '--out',
  out,
];

/** A `bundle write` that waits among its readings, and gets a signal there. */
const interruptedWrite = (out: string, signal: NodeJS.Signals) => {
  const honest = 'await new Promise((resolve) => setImmediate(resolve));';
  return interrupted(
    (wait) => changedProgram('/bundle/write.js', honest, wait),
    written(out),
    signal,
    (pid) => expect(readdirSync(`${out}.${pid}.part`)).toContain('readings.csv'),
  );
};

describe('the folder of a bundle', () => {
  let bundle: string;
  let env: NodeJS.ProcessEnv;
  beforeAll(async () => {
    bundle = newPath();
    expect((await stillwarm(...written(bundle))).code).toBe(0);
    const bin = newPath('bin');
    mkdirSync(bin);
    const installed = join(bin, 'stillwarm');
    writeFileSync(installed, `#!/bin/sh\nexec '${process.execPath}' '${PROGRAM}' "$@"\n`, { mode: 0o755 });
    env = { ...process.env, PATH: `${bin}:${process.env['PATH']}` };
  });
  const shell = (command: string, cwd: string) =>
    spawnSync('sh', ['-c', command], { cwd, env, encoding: 'utf8' });

  it('is checked by the commands of its own README, typed inside it', () => {
    const readme = readFileSync(join(bundle, 'README.md'), 'utf8');
    const commands = [...readme.matchAll(/^ {4}(\S.*)$/gm)].map(([, command]) => command!);
    expect(commands).toEqual(['sha256sum -c SHA256SUMS', 'stillwarm bundle check .']);
    for (const command of commands) expect(shell(command, bundle)).toMatchObject({ status: 0, stderr: '' });
    expect(shell(commands[1]!, bundle).stdout).toMatch(
      /^\.: nothing found in \d+ files; 6 cups judged again/,
    );
  });

  it.each(['.', './', '../visit', '../visit/', './reports/..'])('is found as %s, too', (name) => {
    const check = (cwd: string) => shell(`stillwarm bundle check '${name}'`, cwd);
    expect(check(bundle)).toMatchObject({ status: 0, stderr: '' });
    // Negative control: beside it there is none.
    expect(check(join(bundle, 'facts'))).toMatchObject({ status: 1 });
  });

  it('is gathered and taken into a season from inside it', () => {
    const gathered = join(bundle, '..', 'lab.sqlite');
    expect(shell(`stillwarm bundle gather . --store '${gathered}'`, bundle)).toMatchObject({ status: 0 });
    const season = shell('stillwarm season . --final', bundle);
    expect(season.status).toBe(0);
    expect(season.stdout).toContain(MORNING.yard);
  });
});

describe('an interrupted bundle', () => {
  it.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)('leaves nothing after %s', async (signal) => {
    const out = newPath();
    const { child, err } = await interruptedWrite(out, signal);
    expect(err).toBe('writtenThe bundle was stopped before its end; nothing is left of it.\n');
    expect(child.exitCode).toBe(1);
    expect(readdirSync(join(out, '..'))).toEqual([]);
  });

  it('has no name after SIGKILL, and the next one names what was left', async () => {
    const out = newPath();
    const { child } = await interruptedWrite(out, 'SIGKILL');
    expect(child.signalCode).toBe('SIGKILL');
    expect(existsSync(out)).toBe(false);
    const next = await stillwarm(...written(out));
    expect(next.err.split('\n')[0]).toBe(
      `${out}.${child.pid}.part was left by a bundle write that was killed; nothing needs it, remove it.`,
    );
    // One cup of that visit is not read; of the cup and of the leftover there is nothing more to say.
    expect(next.err.trim().split('\n')[1]).toMatch(/^1 still to be counted: a3\./);
    expect(next.code).toBe(0);
    expect((await stillwarm('bundle', 'check', out)).code).toBe(0);
  });

  it('leaves nothing on a full disk, and says what to do', async (context) => {
    const disk = newPath('disk');
    mkdirSync(disk);
    const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=128k', 'tmpfs', disk]).status === 0;
    if (!mounted && process.env['CI'] !== 'true') context.skip('needs to mount a disk in memory (root)');
    expect(mounted).toBe(true);
    try {
      const out = join(disk, 'visit');
      expect(await stillwarm(...written(out))).toEqual({
        code: 1,
        out: '',
        err: `${out} cannot be written, its disk is full; make room or name another disk. Nothing is left of it.\n`,
      });
      expect(readdirSync(disk)).toEqual([]);
    } finally {
      spawnSync('umount', ['-l', disk]);
    }
  });
});
