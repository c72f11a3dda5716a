import { execFileSync, spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { DEBIAN_PROGRAMS, type DebianProgram, missingPackages } from '../tools/debianPrograms.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** Once before all tests: the program is built, and what tests need from Debian is installed where it can be. */
export default function beforeAll(): void {
  execFileSync('npx', ['tsc', '-b'], { cwd: ROOT, stdio: 'inherit' });
  const missing = missingPackages(Object.keys(DEBIAN_PROGRAMS) as DebianProgram[]);
  if (missing.length === 0) return;
  if (process.getuid?.() !== 0 || spawnSync('apt-get', ['--version'], { stdio: 'ignore' }).status !== 0) {
    process.stderr.write(
      `Some tests are skipped: they need the Debian packages ${missing.join(', ')} (apt-get install ${missing.join(' ')}).\n`,
    );
    return;
  }
  process.stderr.write(`Installing the Debian packages that tests need: ${missing.join(', ')}\n`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const run = (...args: string[]) =>
    spawnSync('apt-get', ['-q', '-y', ...args], { env, stdio: 'pipe', encoding: 'utf8' });
  run('update');
  const { status, stderr } = run('install', '--no-install-recommends', ...missing);
  if (status !== 0)
    process.stderr.write(`apt-get failed; tests that need these packages are skipped: ${stderr}\n`);
}
