import { execFileSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = fileURLToPath(new URL('../../..', import.meta.url));

/** What a program asked of the disk, in order, and what it said. */
export type Operation =
  | { readonly does: 'create' | 'unlink' | 'sync' | 'sync-fails'; readonly file: string }
  | { readonly does: 'write'; readonly file: string; readonly at: number; readonly bytes: Buffer }
  | { readonly does: 'truncate'; readonly file: string; readonly length: number }
  | { readonly does: 'sync-folder' }
  | { readonly does: 'say'; readonly text: string };

/** What is put in the place of what in a file of the build. */
export interface Change {
  readonly file: string;
  readonly from: string;
  readonly to: string;
}

/** A store that checkpoints so often that a short run has many; with anything but FULL one rule is broken. */
export const opened = (synchronous: 'FULL' | 'NORMAL'): Change[] => {
  const file = 'src/store/sqlite.js';
  const [from, to] = ['PRAGMA synchronous = FULL', `PRAGMA synchronous = ${synchronous}`];
  return [
    { file, from: 'CHECKPOINT_AFTER = 5000', to: 'CHECKPOINT_AFTER = 40' },
    { file, from: 'CHECKPOINT_AGAIN = 1000', to: 'CHECKPOINT_AGAIN = 5' },
    { file, from, to },
    { file, from: 'const full = 2', to: `const full = ${synchronous === 'FULL' ? 2 : 1}` },
  ];
};

/**
 * Runs a program on a new store and records its system calls with strace.
 *
 * @param program takes the folder of the build, the store, and `args`
 * @param changes what is different in the build from the program that is tested
 * @param failing the sync that the disk refuses, counted from 1; null when none
 */
export function recordProgram(
  program: string,
  args: readonly string[],
  changes: readonly Change[],
  failing: number | null = null,
): Operation[] {
  mkdirSync(join(ROOT, '.build'), { recursive: true });
  // Inside the project, so that it finds its packages.
  const build = mkdtempSync(join(ROOT, '.build', 'recorded-'));
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-power-'));
  try {
    cpSync(join(ROOT, '.build', 'src'), join(build, 'src'), { recursive: true });
    cpSync(join(ROOT, '.build', 'shared'), join(build, 'shared'), { recursive: true });
    for (const change of changes) make(build, change);
    const traces = join(folder, 'trace');
    mkdirSync(traces);
    const calls = 'execve,openat,close,write,pwrite64,ftruncate,fsync,fdatasync,unlink';
    const store = join(folder, 'store');
    const traced = [
      // Only these calls stop the program, a tenth of the time; that needs all threads followed, each in a file of its own.
      '--seccomp-bpf',
      '-ff',
      '-qq',
      '-xx',
      '-s',
      '70000',
      '-e',
      `trace=${calls}`,
      ...(failing === null ? [] : ['-e', `inject=fsync,fdatasync:error=EIO:when=${failing}`]),
      '-o',
      join(traces, 'of'),
      process.execPath,
      program,
      build,
      store,
    ];
    execFileSync('strace', [...traced, ...args], { stdio: ['ignore', 'ignore', 'inherit'] });
    const texts = readdirSync(traces).map((name) => readFileSync(join(traces, name), 'latin1'));
    // The thread that began is the program; the store is its alone.
    return operations(texts.find((text) => text.startsWith('execve('))!, folder);
  } finally {
    rmSync(build, { recursive: true });
    rmSync(folder, { recursive: true });
  }
}

function make(build: string, { file, from, to }: Change): void {
  const path = join(build, file);
  const text = readFileSync(path, 'utf8');
  if (text.split(from).length !== 2) throw new Error(`${path} does not hold once: ${from}`);
  writeFileSync(path, text.replace(from, to));
}

const CALL = /^(\w+)\((.*)\) += (-?\d+)/;
const unquote = (text: string) => Buffer.from(text.replaceAll(/"|\\x/g, ''), 'hex');

/** The calls that concern files in `folder`; the wal-index (-shm) is rebuilt after a loss of power and left out. */
function operations(trace: string, folder: string): Operation[] {
  const files = new Map<string, string>();
  const known = new Set<string>();
  const list: Operation[] = [];
  for (const line of trace.split('\n')) {
    const [, call = '', args = '', result = '-1'] = CALL.exec(line) ?? [];
    const parts = args.split(', ');
    const file = files.get(parts[0]!);
    if (Number(result) < 0) {
      if (/^f(data)?sync$/.test(call) && file !== undefined) list.push({ does: 'sync-fails', file });
      continue;
    }
    if (call === 'openat' || call === 'unlink') {
      const path = unquote(parts[call === 'openat' ? 1 : 0]!).toString('latin1');
      if (!path.startsWith(folder) || path.endsWith('-shm')) continue;
      const name = path.slice(folder.length + 1);
      if (call === 'openat') files.set(result, name);
      if (call === 'unlink') list.push({ does: 'unlink', file: name });
      else if (name !== '' && !known.has(name)) list.push({ does: 'create', file: name });
      if (call === 'openat') known.add(name);
      else known.delete(name);
    } else if (call === 'write' && parts[0] === '1')
      list.push({ does: 'say', text: unquote(parts[1]!).toString() });
    else if (file === undefined) continue;
    else if (call === 'close') files.delete(parts[0]!);
    else if (call === 'pwrite64')
      list.push({ does: 'write', file, at: Number(parts[3]), bytes: unquote(parts[1]!) });
    else if (call === 'ftruncate') list.push({ does: 'truncate', file, length: Number(parts[1]) });
    else if (call.startsWith('f')) list.push(file === '' ? { does: 'sync-folder' } : { does: 'sync', file });
    else throw new Error(`a ${call} that the disk does not know`);
  }
  return list;
}
