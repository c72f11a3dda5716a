import { execFileSync } from 'node:child_process';
import {
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
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

/** The same, with one change to the sources: what it does not concern is compiled once. */
export function buildChanged(change: Change | null, settings: readonly string[]): Build {
  const objects = change === null ? null : objectsOf(settings);
  return inCopy((folder) => {
    if (objects !== null) {
      // By their times make tells what to compile: the sources are old, their objects newer, the change the newest.
      for (const name of readdirSync(folder)) utimesSync(join(folder, name), 1, 1);
      mkdirSync(join(folder, 'build'));
      for (const [name, bytes] of objects) {
        writeFileSync(join(folder, 'build', name), bytes);
        utimesSync(join(folder, 'build', name), 2, 2);
      }
    }
    if (change !== null) apply(change, folder);
    make(folder, ...settings);
    const sizes = execFileSync('avr-size', [join(folder, 'build/stillwarm.elf')], { encoding: 'utf8' });
    const [text = 0, data = 0, bss = 0] = (sizes.split('\n')[1] ?? '').trim().split(/\s+/).map(Number);
    return {
      hex: readFileSync(join(folder, 'build/stillwarm.hex'), 'latin1'),
      flashBytes: text + data,
      ramBytes: data + bss,
    };
  });
}

const compiled = new Map<string, ReadonlyMap<string, Buffer>>();

/** The object files of the unchanged sources, by their names. */
function objectsOf(settings: readonly string[]): ReadonlyMap<string, Buffer> {
  const key = settings.join(' ');
  const known = compiled.get(key);
  if (known !== undefined) return known;
  const objects = inCopy((folder) => {
    const names = readdirSync(folder).flatMap((name) =>
      name.endsWith('.c') ? [`${name.slice(0, -1)}o`] : [],
    );
    make(folder, ...settings, ...names.map((name) => `build/${name}`));
    return new Map(names.map((name) => [name, readFileSync(join(folder, 'build', name))]));
  });
  compiled.set(key, objects);
  return objects;
}

const make = (folder: string, ...words: string[]) =>
  execFileSync('make', ['--no-print-directory', '-s', ...words], {
    cwd: folder,
    stdio: ['ignore', 'pipe', 'pipe'],
  });

function inCopy<T>(task: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-image-'));
  try {
    cpSync(SOURCES, folder, { recursive: true, filter: (path) => !/firmware\/(build|image)$/.test(path) });
    return task(folder);
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
