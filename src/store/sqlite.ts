import Database from 'libsql';
import { Refusal } from '../units/refusal.js';
import { diskHindrance } from './fileSystem.js';

/** Why nothing can be written now, although it may go on later. */
export const HINDRANCES = ['full', 'read-only', 'busy', 'disk-error'] as const;
export type Hindrance = (typeof HINDRANCES)[number];

/** A refusal that passes when people make room, mend the disk or stop another program. */
export class Unwritable extends Refusal {
  constructor(
    message: string,
    readonly why: Hindrance,
    options?: ErrorOptions,
  ) {
    super(message, options);
  }
}

/**
 * The one file that talks to the SQLite driver, and the strict face it wears. libsql 0.5.29 aborts the
 * process on a bound `true`, turns missing bindings into NULL, drops extra ones, ignores `readonly` and lets
 * statements write after `close()`: each is refused or arranged here, so that nothing else needs to know.
 */
export type SqlValue = string | number | null | Uint8Array;
export type SqlRow = Record<string, SqlValue>;

/** Transactions of this connection that wrote something, numbered in order, those not synced included. */
export interface Commits {
  /** The last one. */
  readonly made: number;
  /** The last one that a loss of power cannot take back, and so none before it. */
  readonly durable: number;
}

export interface Sqlite {
  /** Runs a statement that returns no rows; gives the number of rows it changed. */
  run(sql: string, ...values: SqlValue[]): number;
  /** The first row, or undefined. */
  get<Row extends object = SqlRow>(sql: string, ...values: SqlValue[]): Row | undefined;
  all<Row extends object = SqlRow>(sql: string, ...values: SqlValue[]): Row[];
  /** Runs statements without values. */
  exec(sql: string): void;
  /** Runs `task` in one immediate transaction; rolled back when it throws. Promises are refused. */
  immediate<T>(task: () => T): T;
  /**
   * The same, not synced to the disk on its own: a loss of power may take it back, the next transaction that is synced
   * makes it durable, too. Order is kept. For what is told or done again anyway; the card of a small computer wears by syncs.
   */
  unsynced<T>(task: () => T): T;
  commits(): Commits;
  /** Makes all commits durable, by one sync; none when they are. */
  settle(): void;
  /** Runs a `task` that only reads, so that all of it sees the file as it was at one instant. */
  snapshot<T>(task: () => T): T;
  close(): void;
}

/** How long a statement waits for another process's write, milliseconds. */
const BUSY_TIMEOUT_MS = 5000;
/** The write-ahead file is cut back to this size when it can be, bytes. */
const JOURNAL_BYTES_MAX = 16 * 1024 * 1024;
/** It is taken into the database after so many transactions and rows: a logger has written some 4000 pages by then. Three syncs each time. */
const CHECKPOINT_AFTER = 5000;
/** So much sooner again when somebody who reads, or the disk, did not let all of it be taken. */
const CHECKPOINT_AGAIN = 1000;
/** So many transactions at most wait for one that is synced: only behind such a one it is taken. */
const WAITING_MAX = 1000;

/**
 * Opens a database file. `create` makes it when absent and leaves it on the rollback journal; `write` makes
 * commits durable (WAL, synchronous FULL, both read back); `read` refuses every write; `copy` is for reading all of it
 * into another file.
 *
 * The driver keeps the file open, and its lock on it, until its statements are collected, even after `close()`. That is
 * harmless as long as nobody in this process closes the file by other means: see `keptOpen` in header.ts.
 *
 * @throws {Refusal} from here and from every call, when the file cannot be read or written
 */
export function openSqlite(path: string, mode: 'read' | 'write' | 'create' | 'copy'): Sqlite {
  const database = explained(
    path,
    () => new Database(path, { timeout: BUSY_TIMEOUT_MS } as Database.Options),
  );
  const statements = new Map<string, Database.Statement<unknown[]>>();
  let open = true;
  // What a process that was killed wrote last may not be on the disk yet.
  let commits: Commits = { made: 1, durable: 0 };
  let written = 0;
  /** Whether commits are synced; not while one is made that need not be, nor after that if it could not be set back. */
  let isFull = true;
  /** Whether a sync failed: what was to be synced by it may never come to the disk, though every later sync succeeds. */
  let isDoubtful = false;
  /** The same of the database file, when it was to take in the write-ahead file. */
  let isFileDoubtful = false;
  /** Transactions and rows since that was last done. */
  let sinceCheckpoint = 0;

  const statement = (sql: string, values: readonly SqlValue[]) => {
    const wanted = placeholders(sql);
    if (wanted !== values.length)
      throw new Error(`${values.length} values for ${wanted} placeholders in: ${sql}`);
    values.forEach(refuseUnbindable);
    let found = statements.get(sql);
    if (!found) {
      found = database.prepare(sql);
      statements.set(sql, found);
    }
    return found;
  };
  /** Does something with the open database, and puts its troubles in words. */
  const using = <T>(task: () => T): T => {
    if (!open) throw new Error('the store has been closed');
    return explained(path, task);
  };
  const syncAgain = () => {
    syncEachCommit(sqlite);
    isFull = true;
  };
  const checkpointed = (mode: 'PASSIVE' | 'TRUNCATE') => {
    try {
      return sqlite.get<{ busy: number; log: number; checkpointed: number }>(
        `PRAGMA wal_checkpoint(${mode})`,
      )!;
    } catch (error) {
      if (isDiskError(error)) isFileDoubtful = true;
      throw error;
    }
  };
  /**
   * Takes the write-ahead file into the database file, behind a commit that was synced. That may fail: what was committed is on the disk
   * in the write-ahead file. Not left to SQLite, which tells nobody when a sync of its own checkpoint fails (`sqlite3WalDefaultHook`
   * drops the error), and begins one also behind a commit that was not synced, where what waits would be lost with it.
   */
  const checkpoint = () => {
    try {
      const { log, checkpointed: taken } = checkpointed('PASSIVE');
      sinceCheckpoint = taken === log ? 0 : CHECKPOINT_AFTER - CHECKPOINT_AGAIN;
    } catch {
      sinceCheckpoint = CHECKPOINT_AFTER - CHECKPOINT_AGAIN;
    }
  };
  /** After a failed sync: all that was committed is written and synced anew. */
  const dispelDoubt = () => {
    if (isFileDoubtful) {
      // A checkpoint that somebody who reads cut short counts as done without a sync, so that the next one would not write it again.
      sqlite.exec('VACUUM');
      isFileDoubtful = false;
    }
    if (!isDoubtful) return;
    if (checkpointed('TRUNCATE').busy !== 0)
      throw new Unwritable(`${path} ${TROUBLES['SQLITE_BUSY']}.`, 'busy');
    isDoubtful = false;
    commits = { ...commits, durable: commits.made };
  };
  /** Written as it is: a transaction that changes no page of the file syncs nothing, and equal values change none. */
  const changePage = () => {
    const version = sqlite.get<{ user_version: number }>('PRAGMA user_version')!.user_version;
    sqlite.exec(`PRAGMA user_version = ${version}`);
  };
  const commit = () => {
    try {
      using(() => database.exec('COMMIT'));
    } catch (error) {
      if (isDiskError(error)) isDoubtful = true;
      throw error;
    }
  };
  const transact = <T>(task: () => T, isSynced: boolean): T => {
    if (isSynced && !isFull) syncAgain();
    if (isSynced) dispelDoubt();
    using(() => database.exec('BEGIN IMMEDIATE'));
    written = 0;
    try {
      const result = task();
      if (result instanceof Promise) throw new Error('a transaction must not wait for a promise');
      if (isSynced && written > 0 && commits.durable < commits.made) changePage();
      commit();
      // One that wrote nothing syncs nothing.
      if (written > 0) {
        const made = commits.made + 1;
        commits = { made, durable: isSynced ? made : commits.durable };
        sinceCheckpoint += 1 + written;
        if (isSynced && sinceCheckpoint >= CHECKPOINT_AFTER) checkpoint();
      }
      return result;
    } catch (error) {
      if (database.inTransaction) database.exec('ROLLBACK');
      throw error;
    }
  };

  const sqlite: Sqlite = {
    run: (sql, ...values) =>
      using(() => {
        if (!isFull && !database.inTransaction) syncAgain();
        const { changes } = statement(sql, values).run(values);
        written += changes;
        return changes;
      }),
    get: <Row extends object>(sql: string, ...values: SqlValue[]) =>
      using(() => {
        const row = statement(sql, values).get(values) as (Row & { _metadata?: unknown }) | undefined;
        if (row) delete row._metadata;
        return row;
      }),
    all: <Row extends object>(sql: string, ...values: SqlValue[]) =>
      using(() => statement(sql, values).all(values) as Row[]),
    exec: (sql) => using(() => void database.exec(sql)),
    immediate: (task) => transact(task, true),
    unsynced(task) {
      // A part of a transaction that is synced at its end.
      if (using(() => database.inTransaction)) return task();
      if (commits.made - commits.durable >= WAITING_MAX) return transact(task, true);
      isFull = false;
      try {
        sqlite.exec('PRAGMA synchronous = NORMAL');
        return transact(task, false);
      } finally {
        try {
          syncAgain();
        } catch {
          // What is to be synced next tries it again first, and is not begun without.
        }
      }
    },
    commits: () => commits,
    settle() {
      if (commits.durable === commits.made) return;
      transact(() => {
        written = 1;
      }, true);
    },
    snapshot(task) {
      // A transaction sees one state anyway.
      if (using(() => database.inTransaction)) return task();
      using(() => database.exec('BEGIN'));
      try {
        const result = task();
        using(() => database.exec('COMMIT'));
        return result;
      } catch (error) {
        try {
          if (database.inTransaction) database.exec('ROLLBACK');
        } catch {
          // Nothing was to be written, and what went wrong first says more: a damaged file cannot be left in order either.
        }
        throw error;
      }
    },
    close() {
      if (!open) return;
      open = false;
      statements.clear();
      database.close();
    },
  };

  try {
    sqlite.exec(`PRAGMA busy_timeout = ${BUSY_TIMEOUT_MS}`);
    if (mode === 'read') sqlite.exec('PRAGMA query_only = ON');
    if (mode === 'write') makeDurable(sqlite);
  } catch (error) {
    sqlite.close();
    throw error;
  }
  return sqlite;
}

/** What SQLite's primary result codes mean for a person, and what to do. */
const TROUBLES: Readonly<Record<string, string>> = {
  SQLITE_READONLY:
    'cannot be written; check the permissions of the file and of its folder, and that its disk is not read-only',
  SQLITE_FULL: 'cannot grow, the disk is full; make room, nothing that was recorded is lost',
  SQLITE_CORRUPT: 'is damaged; keep the file as it is and go on with a copy of an earlier day',
  SQLITE_NOTADB: 'is damaged; keep the file as it is and go on with a copy of an earlier day',
  SQLITE_BUSY: `is kept busy by another program for more than ${BUSY_TIMEOUT_MS / 1000} s; stop that program and try again`,
  SQLITE_CANTOPEN:
    'cannot be opened; check that its folder exists and may be written (its disk is not read-only), for a store keeps two files beside it',
  SQLITE_IOERR: 'cannot be read or written, the disk reports an error; try another disk',
};

/** Those that pass. */
const PASSING: Readonly<Record<string, Hindrance>> = {
  SQLITE_READONLY: 'read-only',
  SQLITE_CANTOPEN: 'read-only',
  SQLITE_FULL: 'full',
  SQLITE_BUSY: 'busy',
  SQLITE_IOERR: 'disk-error',
};

/** Whether the disk refused what SQLite asked of it, a sync perhaps. */
function isDiskError(error: unknown): boolean {
  const { code } = ((error as Error).cause ?? {}) as { code?: unknown };
  return typeof code === 'string' && code.startsWith('SQLITE_IOERR');
}

function explained<T>(path: string, task: () => T): T {
  try {
    return task();
  } catch (error) {
    const { code, message } = error as { code?: unknown; message?: string };
    // The driver reports some openings without a code of their own.
    const known = typeof code === 'string' && code !== '' ? code : '';
    const told =
      Object.keys(TROUBLES).find((each) => known.startsWith(each)) ??
      (/unable to open/i.test(message ?? '') ? 'SQLITE_CANTOPEN' : null);
    if (told === null) throw error;
    const primary = told === 'SQLITE_IOERR' ? behindError(path) : told;
    const sentence = `${path} ${TROUBLES[primary]}.`;
    const why = PASSING[primary];
    throw why === undefined
      ? new Refusal(sentence, { cause: error })
      : new Unwritable(sentence, why, { cause: error });
  }
}

/**
 * A disk that the system has made read-only refuses writes to open files as errors of its own; on a full one SQLite cannot make
 * the index beside the write-ahead file, which it reports as such an error, too.
 */
function behindError(path: string): string {
  const hindrance = diskHindrance(path);
  if (hindrance === null) return 'SQLITE_IOERR';
  return hindrance === 'full' ? 'SQLITE_FULL' : 'SQLITE_READONLY';
}

function makeDurable(sqlite: Sqlite): void {
  sqlite.exec('PRAGMA journal_mode = WAL');
  sqlite.exec(`PRAGMA journal_size_limit = ${JOURNAL_BYTES_MAX}`);
  sqlite.exec('PRAGMA wal_autocheckpoint = 0');
  syncEachCommit(sqlite);
}

/** From here on every commit is on the disk when it returns; read back, for nothing else shows it. */
function syncEachCommit(sqlite: Sqlite): void {
  sqlite.exec('PRAGMA synchronous = FULL');
  const journal = sqlite.get<{ journal_mode: string }>('PRAGMA journal_mode')?.journal_mode;
  const synchronous = sqlite.get<{ synchronous: number }>('PRAGMA synchronous')?.synchronous;
  const full = 2;
  if (journal !== 'wal' || synchronous !== full)
    throw new Error(`commits would not be durable: journal_mode ${journal}, synchronous ${synchronous}`);
}

const placeholders = (sql: string): number => sql.split('?').length - 1;

function refuseUnbindable(value: unknown): void {
  const type = typeof value;
  if (type === 'string' || value === null || value instanceof Uint8Array) return;
  if (type === 'number' && Number.isFinite(value)) return;
  throw new TypeError(`cannot be stored in SQLite: ${String(value)} (${type})`);
}
