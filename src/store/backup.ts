import { accessSync, constants, existsSync, renameSync, rmSync } from 'node:fs';
import { basename, dirname } from 'node:path';
import { syncPath } from '../units/onDisk.js';
import { Refusal } from '../units/refusal.js';
import { makeEmpty } from './emptyFile.js';
import { refuseSharedFolder } from './fileSystem.js';
import { isStoreInUse } from './header.js';
import { hasTable } from './schema.js';
import { faultOf } from './soundness.js';
import { openSqlite } from './sqlite.js';
import { openStoreToRead } from './store.js';

/** What a copy of a store holds. */
export interface Copied {
  readonly facts: number;
  readonly readings: number;
  /** Hash of the last fact, to compare with the one on a report. */
  readonly head: string;
  /** Blocks of sealed readings that were damaged before; they are copied as they are, for the rest is sound. */
  readonly damagedBlocks: number;
}

/**
 * Copies a store while others may write to it: the copy is the store as it was at one instant. It is checked, and gets its
 * name only when all of it is on the disk.
 *
 * @throws {Refusal} when there is no store, the name is taken, or the copy cannot be made
 */
export function backUp(store: string, to: string): Copied {
  refuseTaken(to);
  return copy(store, to);
}

/** What a restored store holds. */
export interface Restored extends Copied {
  /** The file is a store's own, and its write-ahead file is not beside it: if that was left behind, its newest entries are missing. */
  readonly mayLack: boolean;
}

/**
 * Puts a backup in the place of a store that is not there, with what its write-ahead file holds when it is a store's own file.
 * Nothing is ever overwritten.
 *
 * @throws {Refusal} when the backup is damaged or holds nothing, something is in that place, or a store gets damaged there
 */
export function restore(backup: string, store: string): Restored {
  refuseSharedFolder(store);
  const mayLack = isStoreInUse(backup) && !existsSync(`${backup}-wal`);
  const expected = contentsOf(backup);
  refuseTaken(store);
  for (const left of [`${store}-wal`, `${store}-journal`])
    if (existsSync(left))
      throw new Refusal(
        `${left} is left of an earlier store of that name and would be taken for this one's; move it away first.`,
      );
  const restored = copy(backup, store);
  if (restored.facts < expected.facts)
    throw new Refusal(`${store} came out with less than ${backup} holds; restore it again.`);
  return { ...restored, mayLack };
}

/** Copies what a store is at one instant, its write-ahead file included, whoever writes to it meanwhile. */
function copy(from: string, to: string): Copied {
  return inOneGo(to, (part) => {
    openStoreToRead(from).close();
    const sqlite = openSqlite(from, 'copy');
    try {
      makeEmpty(part);
      sqlite.run('VACUUM INTO ?', part);
      forgetLogger(part);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      throw new Refusal(`${to} could not be made: ${error.message}`, { cause: error });
    } finally {
      sqlite.close();
    }
  });
}

/** A logger that is at work on a store, or died on it, never was at work on the copy. */
function forgetLogger(copied: string): void {
  const sqlite = openSqlite(copied, 'create');
  try {
    if (hasTable(sqlite, 'logger')) sqlite.run('DELETE FROM logger');
  } finally {
    sqlite.close();
  }
}

/** Reads the whole of a store and refuses one that is damaged. */
function contentsOf(path: string): Copied {
  const store = openStoreToRead(path);
  try {
    const damage = faultOf(store);
    if (damage !== null)
      throw new Refusal(`${path} is damaged (${damage}); keep it as it is and take an earlier backup.`);
    const { count, hash } = store.head();
    if (count === 0)
      throw new Refusal(
        `${path} holds nothing, not even its first entry; if it is a plain copy of a store, its ${basename(path)}-wal was left behind: copy both, or make copies with backup.`,
      );
    return {
      facts: count,
      readings: store.readingCount(),
      head: hash,
      damagedBlocks: store.brokenBlocks().length,
    };
  } finally {
    store.close();
  }
}

function refuseTaken(path: string): void {
  if (existsSync(path))
    throw new Refusal(`${path} exists, and nothing is overwritten; name another file or move that one away.`);
  try {
    accessSync(dirname(path), constants.W_OK);
  } catch {
    throw new Refusal(
      `${path} cannot be made: its folder is not there or may not be written; name another place.`,
    );
  }
}

/** Lets `write` make a file under another name, checks it, and gives it its own once it is on the disk. */
function inOneGo(path: string, write: (part: string) => void): Copied {
  const part = `${path}.part`;
  rmSync(part, { force: true });
  try {
    write(part);
    const copied = contentsOf(part);
    syncPath(part);
    renameSync(part, path);
    syncPath(dirname(path));
    return copied;
  } catch (error) {
    if (error instanceof Refusal || !(error as NodeJS.ErrnoException).syscall) throw error;
    throw new Refusal(`${path} cannot be written (${(error as Error).message}); nothing was changed.`, {
      cause: error,
    });
  } finally {
    for (const left of [part, `${part}-wal`, `${part}-shm`, `${part}-journal`]) rmSync(left, { force: true });
  }
}
