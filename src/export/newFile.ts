import { existsSync, readdirSync } from 'node:fs';
import { type FileHandle, open, rename, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { Refusal } from '../units/refusal.js';

/** Takes a piece of what is to be written, and resolves when it has gone. */
export type Write = (piece: Uint8Array) => Promise<void>;

const ENDING = '.part';
/** The name that a file or folder has until all of it is on the disk. */
export const temporaryOf = (path: string, pid: number): string => `${path}.${pid}${ENDING}`;

/**
 * What an earlier writer of `path` left beside it when it was killed.
 *
 * @param isRunning whether a process of that number is at work: what it writes is not left
 */
export function leftovers(path: string, isRunning: (pid: number) => boolean): string[] {
  const begin = `${basename(path)}.`;
  const folder = dirname(path);
  return (existsSync(folder) ? readdirSync(folder) : [])
    .filter((name) => name.startsWith(begin) && name.endsWith(ENDING))
    .filter((name) => {
      const pid = name.slice(begin.length, -ENDING.length);
      return /^\d+$/.test(pid) && !isRunning(Number(pid));
    })
    .sort()
    .map((name) => join(folder, name));
}

/**
 * Makes a file that has its name only once all of it is on the disk. Until then it is beside it under another one, which
 * is removed when `make` throws; after a kill it stays and `leftovers` names it.
 *
 * @throws {Refusal} when the name is taken, the disk is full, or the file cannot be written
 */
export async function newFile<T>(path: string, pid: number, make: (write: Write) => Promise<T>): Promise<T> {
  refuseTaken(path);
  const temporary = temporaryOf(path, pid);
  const file = await explained(path, () => open(temporary, 'wx'));
  try {
    const made = await closing(file, path, make);
    refuseTaken(path);
    await explained(path, () => rename(temporary, path));
    await explained(path, () => syncFolder(dirname(path)));
    return made;
  } catch (error) {
    await rm(temporary, { force: true }).catch(() => {});
    throw error;
  }
}

async function closing<T>(file: FileHandle, path: string, make: (write: Write) => Promise<T>): Promise<T> {
  try {
    // A handle goes on writing where it stopped.
    const made = await make((piece) => explained(path, () => file.writeFile(piece)));
    await explained(path, () => file.sync());
    return made;
  } finally {
    await file.close().catch(() => {});
  }
}

function refuseTaken(path: string): void {
  if (existsSync(path))
    throw new Refusal(`${path} exists, and nothing is overwritten; name another file or move that one away.`);
}

/** The name is on the disk when its folder is. */
async function syncFolder(path: string): Promise<void> {
  // Not every system can open a folder; those write its names by themselves.
  const folder = await open(path, 'r').catch(() => null);
  await folder?.sync().catch(() => {});
  await folder?.close();
}

const TROUBLES: Readonly<Record<string, string>> = {
  ENOSPC: 'its disk is full; make room or name another disk',
  EDQUOT: 'your share of its disk is used up; make room or name another disk',
  ENOENT: 'its folder is not there; name another place',
  EACCES: 'its folder may not be written; name another place',
  EPERM: 'its folder may not be written; name another place',
  EROFS: 'its disk is read-only; name another place',
  EIO: 'the disk reports an error; name another disk',
};

/** What a fault of a disk means for a person, and what to do; null for what is no such fault. */
export function troubleOf(error: unknown): string | null {
  const { code, message } = error as NodeJS.ErrnoException;
  return code === undefined ? null : (TROUBLES[code] ?? message);
}

async function explained<T>(path: string, task: () => Promise<T>): Promise<T> {
  try {
    return await task();
  } catch (error) {
    const trouble = troubleOf(error);
    if (trouble === null) throw error;
    throw new Refusal(`${path} cannot be written, ${trouble}. Nothing was left under that name.`, {
      cause: error,
    });
  }
}
