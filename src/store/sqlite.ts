import Database from 'libsql';

/**
 * The one file that talks to the SQLite driver, and the strict face it wears. libsql 0.5.29 aborts the
 * process on a bound `true`, turns missing bindings into NULL, drops extra ones, ignores `readonly` and lets
 * statements write after `close()`: each is refused or arranged here, so that nothing else needs to know.
 */
export type SqlValue = string | number | null | Uint8Array;
export type SqlRow = Record<string, SqlValue>;

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
  close(): void;
}

/** How long a statement waits for another process's write, milliseconds. */
const BUSY_TIMEOUT_MS = 5000;
/** The write-ahead file is cut back to this size when it can be, bytes. */
const JOURNAL_BYTES_MAX = 16 * 1024 * 1024;

/**
 * Opens a database file. `write` creates it when absent and makes commits durable (WAL, synchronous FULL,
 * both read back); `read` refuses every write.
 */
export function openSqlite(path: string, mode: 'read' | 'write'): Sqlite {
  const database = new Database(path, { timeout: BUSY_TIMEOUT_MS } as Database.Options);
  const statements = new Map<string, Database.Statement<unknown[]>>();
  let open = true;

  const usable = () => {
    if (!open) throw new Error('the store has been closed');
  };
  const statement = (sql: string, values: readonly SqlValue[]) => {
    usable();
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

  const sqlite: Sqlite = {
    run: (sql, ...values) => statement(sql, values).run(values).changes,
    get: <Row extends object>(sql: string, ...values: SqlValue[]) => {
      const row = statement(sql, values).get(values) as (Row & { _metadata?: unknown }) | undefined;
      if (row) delete row._metadata;
      return row;
    },
    all: <Row extends object>(sql: string, ...values: SqlValue[]) =>
      statement(sql, values).all(values) as Row[],
    exec(sql) {
      usable();
      database.exec(sql);
    },
    immediate(task) {
      usable();
      database.exec('BEGIN IMMEDIATE');
      try {
        const result = task();
        if (result instanceof Promise) throw new Error('a transaction must not wait for a promise');
        database.exec('COMMIT');
        return result;
      } catch (error) {
        if (database.inTransaction) database.exec('ROLLBACK');
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
    database.exec(`PRAGMA busy_timeout = ${BUSY_TIMEOUT_MS}`);
    if (mode === 'read') database.exec('PRAGMA query_only = ON');
    else makeDurable(sqlite);
  } catch (error) {
    sqlite.close();
    throw error;
  }
  return sqlite;
}

function makeDurable(sqlite: Sqlite): void {
  sqlite.exec('PRAGMA journal_mode = WAL');
  sqlite.exec('PRAGMA synchronous = FULL');
  sqlite.exec(`PRAGMA journal_size_limit = ${JOURNAL_BYTES_MAX}`);
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
