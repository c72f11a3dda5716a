import { spawnSync } from 'node:child_process';
import { copyFileSync, lstatSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { installedPath } from '../../src/units/installed.js';
import { type Row, timed } from './row.js';

const ROOT = installedPath('.');
const MIB = 2 ** 20;

/** Folders of the packages that are installed here; without those for development, or with them. */
function packages(...omit: string[]): string[] {
  const { stdout } = spawnSync('npm', ['ls', '--all', '--parseable', ...omit], {
    cwd: ROOT,
    encoding: 'utf8',
  });
  const folders = [...new Set(stdout.trim().split('\n').slice(1))];
  if (folders.length === 0) throw new Error('npm ls names no package; run npm ci');
  return folders;
}

/** Bytes of a package without the packages inside it, which are counted by themselves. */
function bytesIn(folder: string): number {
  return readdirSync(folder, { withFileTypes: true }).reduce((sum, entry) => {
    if (entry.name === 'node_modules' || entry.isSymbolicLink()) return sum;
    const path = join(folder, entry.name);
    return sum + (entry.isDirectory() ? bytesIn(path) : lstatSync(path).size);
  }, 0);
}

const mebibytes = (folders: readonly string[]): number =>
  folders.reduce((sum, folder) => sum + bytesIn(folder), 0) / MIB;

/** Installs into an empty folder what the lock file names, from npm's cache as far as it goes; seconds. */
async function installing(...omit: string[]): Promise<number> {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-install-'));
  try {
    for (const file of ['package.json', 'package-lock.json'])
      copyFileSync(installedPath(file), join(folder, file));
    const args = ['ci', '--prefer-offline', '--no-audit', '--no-fund', ...omit];
    const { value, seconds } = await timed(async () =>
      spawnSync('npm', args, { cwd: folder, stdio: 'ignore' }),
    );
    if (value.status !== 0) throw new Error(`npm ci ended with ${value.status}`);
    return seconds;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

export const rows: readonly Row[] = [
  {
    name: 'installed: packages, without those for development',
    against: 'all packages',
    aim: null,
    runs: 1,
    unit: 'packages',
    measure: async () => ({ ours: packages('--omit=dev').length, other: packages().length }),
  },
  {
    name: 'installed: size, without what is for development',
    against: 'all packages',
    aim: null,
    runs: 1,
    unit: 'MiB',
    measure: async () => ({ ours: mebibytes(packages('--omit=dev')), other: mebibytes(packages()) }),
  },
  {
    name: 'installed: time of npm ci, without what is for development',
    against: 'npm ci of all packages',
    aim: null,
    runs: 1,
    async measure() {
      // Fills the cache, so that no network is measured.
      await installing();
      return { ours: await installing('--omit=dev'), other: await installing() };
    },
  },
];
