import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The built program, as its users run it. */
export const PROGRAM = fileURLToPath(new URL('../../.build/src/cli/stillwarm.js', import.meta.url));

export interface Run {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

export function start(...args: string[]): ChildProcess {
  return spawn(process.execPath, [PROGRAM, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
}

/** Runs a command line to its end. */
export async function stillwarm(...args: string[]): Promise<Run> {
  const child = start(...args);
  let out = '';
  let err = '';
  child.stdout!.setEncoding('utf8').on('data', (text: string) => {
    out += text;
  });
  child.stderr!.setEncoding('utf8').on('data', (text: string) => {
    err += text;
  });
  const [code] = (await once(child, 'close')) as [number | null];
  return { code, out, err };
}

/** A folder that is removed afterwards. */
export async function inFolder<T>(task: (folder: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-run-'));
  try {
    return await task(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A machine that has other work is slower by as much, and nothing is wrong. */
const BUSY = 4;

/** To look costs: it opens a store, or starts a program. */
const LOOK_MS = 100;

/** Waits until something is so; fails when it takes much longer than the seconds that an idle machine may need. */
export async function until<T>(
  what: string,
  look: () => T | null | undefined | false,
  seconds = 60,
): Promise<T> {
  const end = performance.now() + seconds * BUSY * 1000;
  for (;;) {
    const seen = look();
    if (seen) return seen;
    if (performance.now() > end) throw new Error(`${what}: still not so after ${seconds * BUSY} s`);
    await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
  }
}
