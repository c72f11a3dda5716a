import { execFileSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const SOURCES = fileURLToPath(new URL('../../../hardware/firmware/', import.meta.url));

const compilerIsThere = (): boolean => {
  try {
    execFileSync('avr-gcc', ['--version'], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
};

/** Why builds are skipped, or null when they are not. With CI=true a missing compiler makes them fail instead. */
export const WHY_NO_BUILD: string | null =
  compilerIsThere() || process.env['CI'] === 'true'
    ? null
    : 'avr-gcc is not installed (Debian packages gcc-avr, avr-libc, binutils-avr, make)';

export interface Build {
  readonly hex: string;
  readonly flashBytes: number;
  readonly ramBytes: number;
}

/** Builds the image from a copy of the sources in a folder of its own. */
export function build(...settings: string[]): Build {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-image-'));
  try {
    cpSync(SOURCES, folder, { recursive: true, filter: (path) => !/firmware\/(build|image)$/.test(path) });
    const make = ['--no-print-directory', '-s', ...settings];
    execFileSync('make', make, { cwd: folder, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
    const sizes = execFileSync('avr-size', [join(folder, 'build/stillwarm.elf')], { encoding: 'utf8' });
    const [text = 0, data = 0, bss = 0] = (sizes.split('\n')[1] ?? '').trim().split(/\s+/).map(Number);
    return {
      hex: readFileSync(join(folder, 'build/stillwarm.hex'), 'latin1'),
      flashBytes: text + data,
      ramBytes: data + bss,
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}
