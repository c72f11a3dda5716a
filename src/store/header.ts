import { closeSync, fstatSync, openSync, readFileSync, readSync, statSync } from 'node:fs';
import { Refusal } from '../units/refusal.js';
import { refuseIrregular } from '../units/regularFile.js';
import { APPLICATION_ID, SCHEMA_VERSION } from './schema.js';

/** What a path holds, told from the file's first bytes alone: nothing is opened as a database or changed. */
export type FileKind = 'absent' | 'empty' | 'store';

const HEADER_BYTES = 100;
const SQLITE_MAGIC = 'SQLite format 3\0';
/** 1 for the rollback journal, as in a backup, 2 for the write-ahead file (SQLite file format 1.3.3). */
const WRITE_VERSION_AT = 18;
const USER_VERSION_AT = 60;
const APPLICATION_ID_AT = 68;

const JOURNAL_MAGIC = 'd9d505f920a163d7';
const JOURNAL_INITIAL_PAGES_AT = 16;

/**
 * Whether a power cut broke off the writing of a new store: a rollback journal lies beside it that takes it back to no
 * page at all. SQLite does so at the next opening.
 */
function isUnfinished(path: string): boolean {
  let journal: Buffer;
  try {
    if (!statSync(`${path}-journal`).isFile()) return false;
    journal = readFileSync(`${path}-journal`);
  } catch {
    return false;
  }
  const initialPages =
    JOURNAL_INITIAL_PAGES_AT + 4 <= journal.length ? journal.readUInt32BE(JOURNAL_INITIAL_PAGES_AT) : null;
  return journal.toString('hex', 0, JOURNAL_MAGIC.length / 2) === JOURNAL_MAGIC && initialPages === 0;
}

/**
 * The files that were looked at, by device and inode, open until this process ends. Whoever closes any descriptor of a
 * file loses all locks that the process has on it, SQLite's too (sqlite.org/howtocorrupt.html, 2.2): another process would
 * take a store in use for one that nobody has open, and remove its write-ahead file with all that is committed from then on.
 */
const lookedAt = new Map<string, number>();
/** Above this many, files that are gone from the disk are let go of. */
const KEPT_OPEN = 32;

function keptOpen(path: string): number {
  const { dev, ino } = statSync(path);
  const known = lookedAt.get(`${dev} ${ino}`);
  if (known !== undefined) return known;
  if (lookedAt.size >= KEPT_OPEN)
    for (const [key, file] of lookedAt) {
      if (fstatSync(file).nlink > 0) continue;
      lookedAt.delete(key);
      closeSync(file);
    }
  const file = openSync(path, 'r');
  const opened = fstatSync(file);
  lookedAt.set(`${opened.dev} ${opened.ino}`, file);
  return file;
}

/** Tells an absent, empty or stillwarm file from any other, which is refused with a sentence. */
export function kindOfFile(path: string): FileKind {
  if (path === '') throw new Refusal('The store has no name; name a file with --store.');
  const header = Buffer.alloc(HEADER_BYTES);
  refuseIrregular(path, 'name a store with --store');
  let length: number;
  try {
    length = readSync(keptOpen(path), header, 0, HEADER_BYTES, 0);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return 'absent';
    throw new Refusal(
      `${path} cannot be read (${(error as Error).message}); check the path and its permissions.`,
    );
  }
  if (length === 0 || isUnfinished(path)) return 'empty';
  if (header.toString('latin1', 0, SQLITE_MAGIC.length) !== SQLITE_MAGIC)
    throw new Refusal(
      `${path} is not a stillwarm store but another kind of file, or its first bytes are damaged; name another file with --store, or restore a backup.`,
    );
  if (header.readUInt32BE(APPLICATION_ID_AT) !== APPLICATION_ID)
    throw new Refusal(
      `${path} is a SQLite database of another program, not a stillwarm store; name another file with --store.`,
    );
  const version = header.readUInt32BE(USER_VERSION_AT);
  if (version > SCHEMA_VERSION)
    throw new Refusal(
      `${path} was written by a newer stillwarm (store version ${version}, this one knows up to ${SCHEMA_VERSION}); update stillwarm.`,
    );
  return 'store';
}

/** Whether a file is a store's own, whose newest entries may lie in a write-ahead file beside it; a backup is all in one file. */
export function isStoreInUse(path: string): boolean {
  if (kindOfFile(path) !== 'store') return false;
  const version = Buffer.alloc(1);
  readSync(keptOpen(path), version, 0, 1, WRITE_VERSION_AT);
  return version[0] === 2;
}
