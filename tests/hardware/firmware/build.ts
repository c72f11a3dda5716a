import { execFileSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { installedPath } from '../../../src/units/installed.js';
import { whyNot } from '../../tools/debianPrograms.js';

const SOURCES = dirname(installedPath('hardware/firmware/Makefile'));

/** Why tests that build are skipped, or null when they run. */
export const WHY_NO_BUILD = whyNot('avr-gcc', 'avr-objcopy', 'make');

export interface Build {
  readonly hex: string;
  readonly flashBytes: number;
  readonly ramBytes: number;
}

/** A change to one source: `from` stands once in the file. */
export interface Change {
  readonly file: string;
  readonly from: string;
  readonly to: string;
}

/** Builds the image from a copy of the sources in a folder of its own; `settings` are variables of the Makefile. */
export const build = (...settings: string[]): Build => buildChanged(null, settings);

/** The same, with one change to the sources. */
export function buildChanged(change: Change | null, settings: readonly string[]): Build {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-image-'));
  try {
    cpSync(SOURCES, folder, { recursive: true, filter: (path) => !/firmware\/(build|image)$/.test(path) });
    if (change !== null) apply(change, folder);
    const make = ['--no-print-directory', '-s', ...settings];
    execFileSync('make', make, { cwd: folder, stdio: ['ignore', 'pipe', 'pipe'] });
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

function apply({ file, from, to }: Change, folder: string): void {
  const path = join(folder, file);
  const parts = readFileSync(path, 'utf8').split(from);
  if (parts.length !== 2)
    throw new Error(
      `${file} says ${JSON.stringify(from)} ${parts.length - 1} times; it must stand there once.`,
    );
  writeFileSync(path, parts.join(to));
}
