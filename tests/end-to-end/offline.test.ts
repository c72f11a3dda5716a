import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { installedPath } from '../../src/units/installed.js';
import { allInNewFolder } from '../tools/newFolder.js';

/** A computer without any network: a network namespace of its own, in which there is not even a loopback. */
const ALONE = process.getuid?.() === 0 ? ['--net'] : ['--net', '--map-root-user'];
const isAlone = spawnSync('unshare', [...ALONE, 'true'], { stdio: 'ignore' }).status === 0;
const why = isAlone || process.env['CI'] === 'true' ? null : 'needs network namespaces (unshare)';
/** What is there after a first `npm start` in a clone, without what belongs to development alone. */
const PARTS = ['package.json', 'package-lock.json', 'tsconfig.json', '.build', 'src', 'shared', 'hardware'];

let folder: string;
/** Runs a program without network, in a copy of the program's folder. */
function alone(at: string, program: string, ...args: string[]) {
  return spawnSync('unshare', [...ALONE, program, ...args], { cwd: at, encoding: 'utf8' });
}
function copied(name: string): string {
  const to = join(folder, name);
  mkdirSync(to);
  for (const part of PARTS)
    cpSync(installedPath(part), join(to, part), { recursive: true, preserveTimestamps: true });
  return to;
}

/** Native parts and the firmware image: the store, and a board on the emulator. */
function runs(at: string): void {
  const ran = (...args: string[]) => alone(at, 'node', '.build/src/cli/stillwarm.js', ...args);
  expect(ran('visit', 'open', 'v1', '--yard', 'y1', '--zone', 'UTC').status).toBe(0);
  const { status, stderr } = ran('carrier', 'check', '--emulate', '--speed', 'max');
  expect([status, stderr]).toEqual([0, expect.not.stringContaining('Error')]);
}

describe.skipIf(why)(`without network ${why ?? ''}`, () => {
  allInNewFolder((fresh) => {
    folder = fresh;
  });

  it('a folder that was copied with node_modules runs npm start', () => {
    const at = copied('copy');
    // Links where that is possible, which costs no room.
    const from = installedPath('node_modules');
    const isLinked = spawnSync('cp', ['-al', from, at], { stdio: 'ignore' }).status === 0;
    if (!isLinked) expect(spawnSync('cp', ['-a', from, at]).status).toBe(0);
    // The day itself is played in play.test.ts; here it is enough that it is built, and what it needs is there.
    const { status, stdout } = alone(at, 'npm', 'start', '--', '--help');
    expect([status, stdout]).toEqual([0, expect.stringContaining('--scenario')]);
    runs(at);
  }, 300_000);

  it('npm installs from its cache, and the program runs', ({ skip }) => {
    const at = copied('cache');
    const install = ['ci', '--omit=dev', '--no-audit', '--no-fund'];
    const { status, stderr } = alone(at, 'npm', ...install, '--offline');
    if (/ENOTCACHED/.test(stderr)) skip('npm has not got all packages in its cache');
    expect(status).toBe(0);
    runs(at);
  }, 300_000);

  it('is without network indeed: npm cannot fetch anything (negative control)', () => {
    const { status, stderr } = alone(folder, 'npm', 'ping', '--fetch-retries', '0');
    expect(status).not.toBe(0);
    expect(stderr).toMatch(/EAI_AGAIN|ENOTFOUND|ENETUNREACH|ECONNREFUSED|network/);
  }, 120_000);
});
