import { createHash } from 'node:crypto';
import { unguessableBytes } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import { CHAIN_ORIGIN, canonicalJson, chainHash, firstBreak } from './chain.js';
import { toOwnChain } from './chains.js';
import { makeEmpty } from './emptyFile.js';
import { type Fact, factFromJson, factSchema, factToJson, type RecordedFact } from './facts.js';
import { refuseSharedFolder, signOfChange } from './fileSystem.js';
import { type Gathered, gathered } from './gathered.js';
import { kindOfFile } from './header.js';
import { type HourShelf, hourShelf } from './hourShelf.js';
import { type LastReadings, lastReadings } from './lastRead.js';
import { type LogShelf, logShelf } from './logShelf.js';
import { type Outbox, outbox } from './outbox.js';
import { type ReadingShelf, readingShelf } from './readingShelf.js';
import { ownReferences } from './references.js';
import { APPLICATION_ID, createSchema, SCHEMA_VERSION } from './schema.js';
import { type Sealing, sealing } from './sealing.js';
import { type Commits, openSqlite, type Sqlite } from './sqlite.js';
import { upgrade } from './upgrade.js';

export type { StoredReading, Track } from './readingShelf.js';

/** The logger's last sign of life. */
export interface LoggerRow {
  readonly pid: number;
  readonly beat: UtcMs;
  /** The logger's own time at that beat; it runs `speed` times as fast as the wall clock. */
  readonly now: UtcMs;
  readonly speed: number;
  readonly state: string;
}

/**
 * One SQLite file: facts in a hash chain, readings, and what the logger says of itself. The meeting point
 * of all processes: the logger writes readings, screens and commands append facts.
 */
export interface Store extends ReadingShelf, LastReadings, HourShelf, Sealing, LogShelf, Outbox, Gathered {
  readonly path: string;
  /** Runs `task` in one immediate transaction: either all it appends is durable, or nothing. */
  transaction<T>(task: () => T): T;
  /**
   * The same for what a loss of power may take back, because it is told or done again anyway: it costs no sync of the disk,
   * and the next transaction that is synced makes it durable. Never for facts and readings.
   */
  unsynced<T>(task: () => T): T;
  /** Numbers of the last transaction and of the last one that is durable, by which whoever wrote `unsynced` knows when it is. */
  commits(): Commits;
  /** Makes durable what is not, by one sync of the disk; none when all is. */
  settle(): void;
  /** Appends facts at the end of the chain. */
  append(recorded: UtcMs, ...facts: Fact[]): void;
  /** The store's own facts after the one numbered `after`, in order; `everyFact` gives those of gathered chains, too. */
  facts(after?: number): RecordedFact[];
  /** Number and hash of the last fact. */
  head(): { count: number; hash: string };
  /**
   * Another text than before when something was written meanwhile, as far as the file system's clock tells: two writes within some
   * milliseconds may look like one. Null when nothing is known. Much cheaper than any question to the store.
   */
  touched(): string | null;
  /** The number of the first fact whose hash does not follow from the one before; null when all do. */
  brokenAt(): number | null;
  /** What SQLite finds wrong with the file itself; null when nothing. Reads all of it. */
  damage(): string | null;
  /** Keeps a text out of the chain and gives the reference that a fact may carry. */
  keepText(text: string): string;
  text(ref: string): string | null;
  /** Whether a fact of the store's own chain carries that reference, so that its text was kept here once. */
  refersTo(ref: string): boolean;
  /** A kept text with the salt that is in its reference; null when it is not kept. */
  saltedText(ref: string): { readonly salt: string; readonly text: string } | null;
  /** Takes over a text that another store keeps; one that is known stays as it is. */
  takeText(ref: string, salt: string, text: string): void;
  countDiscard(reason: string, bytes: number, times?: number): void;
  discards(): { reason: string; times: number; bytes: number }[];
  /** Of SQLite, and of the tables in the file. */
  versions(): { readonly sqlite: string; readonly schema: number };
  logger(): LoggerRow | null;
  /** Puts a logger in the place of whichever was there. */
  setLogger(row: LoggerRow): void;
  /** A sign of life of the logger that is in its place still; false when it is not, and nothing was written. Not synced. */
  beat(row: LoggerRow): boolean;
  /** Takes away the sign of life of the logger `pid`, and nobody else's. */
  clearLogger(pid: number): void;
  close(): void;
}

/** What results and reports ask of a store; the files of a bundle answer it as well. */
export type Records = Pick<Store, 'facts' | 'everyFact' | 'chains' | 'head' | 'track' | 'text' | 'refersTo'>;

/** Opens a store that must exist, for reading only. */
export function openStoreToRead(path: string): Store {
  const kind = kindOfFile(path);
  if (kind !== 'store')
    throw new Refusal(
      `${path} ${kind === 'absent' ? 'does not exist' : 'is empty'}; name a store with --store, or open a visit to create one.`,
    );
  return wrap(path, openSqlite(path, 'read'));
}

/**
 * Opens a store to append to, creating it when there is none. `now` is the wall clock.
 *
 * @param tell told when a store of an earlier version was brought up to date
 */
export function openStoreToWrite(
  path: string,
  now: UtcMs,
  tell: (sentence: string) => void = () => {},
): Store {
  refuseSharedFolder(path);
  const kind = kindOfFile(path);
  if (kind !== 'store') create(path);
  const sqlite = openSqlite(path, 'write');
  upgrade(path, sqlite, tell);
  const store = wrap(path, sqlite);
  store.transaction(() => {
    if (store.head().count > 0) return;
    const id = Buffer.from(unguessableBytes(8)).toString('hex');
    store.append(now, { type: 'store-created', store: id, at: now });
  });
  return store;
}

/**
 * Writes header marks and tables of an absent or empty file in one transaction with the rollback journal:
 * until its end the file is empty, afterwards it is a store. Whoever comes second finds it done.
 */
function create(path: string): void {
  makeEmpty(path);
  const sqlite = openSqlite(path, 'create');
  try {
    sqlite.immediate(() => {
      createSchema(sqlite);
      sqlite.exec(`PRAGMA application_id = ${APPLICATION_ID}; PRAGMA user_version = ${SCHEMA_VERSION}`);
    });
  } finally {
    sqlite.close();
  }
}

/** What `append` takes, `facts` must be able to give back: a fact that is no fact is refused, not written. */
function refuseUnreadable(fact: Fact): void {
  const checked = factSchema.safeParse({ ...fact, at: formatInstant(fact.at) });
  if (checked.success) return;
  const { path, message } = checked.error.issues[0]!;
  throw new Refusal(`${path.join('.') || 'the record'} cannot be recorded (${message}); correct it.`);
}

function wrap(path: string, sqlite: Sqlite): Store {
  const head = () => {
    const last = sqlite.get<{ seq: number; hash: string }>(
      'SELECT seq, hash FROM facts ORDER BY seq DESC LIMIT 1',
    );
    return last ? { count: last.seq, hash: last.hash } : { count: 0, hash: CHAIN_ORIGIN };
  };
  const storeOf = (number: number) =>
    sqlite.get<{ store: string }>('SELECT store FROM gathered_chains WHERE number = ?', number)!.store;
  const append = (recorded: UtcMs, ...facts: Fact[]) => {
    let { count, hash } = head();
    for (const fact of facts) {
      count += 1;
      refuseUnreadable(fact);
      const line = canonicalJson(factToJson(count, recorded, toOwnChain(fact, storeOf)));
      hash = chainHash(hash, line);
      sqlite.run('INSERT INTO facts (seq, line, hash) VALUES (?, ?, ?)', count, line, hash);
    }
  };

  return {
    ...readingShelf(sqlite),
    ...lastReadings(sqlite),
    ...hourShelf(sqlite),
    ...sealing(sqlite, append),
    ...logShelf(sqlite),
    ...outbox(sqlite),
    ...gathered(sqlite),
    path,
    transaction: (task) => sqlite.immediate(task),
    unsynced: (task) => sqlite.unsynced(task),
    commits: () => sqlite.commits(),
    settle: () => sqlite.settle(),
    append,

    facts: (after = 0) =>
      sqlite
        .all<{ line: string }>('SELECT line FROM facts WHERE seq > ? ORDER BY seq', after)
        .map(({ line }) => factFromJson(line)),
    head,
    // Every change is written to the write-ahead file first.
    touched: () => signOfChange(`${path}-wal`),
    brokenAt: () =>
      firstBreak(
        sqlite.all<{ seq: number; line: string; hash: string }>(
          'SELECT seq, line, hash FROM facts ORDER BY seq',
        ),
      ),

    damage() {
      const found = sqlite.all<{ integrity_check: string }>('PRAGMA integrity_check(1)')[0]?.integrity_check;
      return found === undefined || found === 'ok' ? null : found;
    },

    keepText(text) {
      const salt = Buffer.from(unguessableBytes(16)).toString('hex');
      const ref = createHash('sha256').update(salt).update('\n').update(text).digest('hex');
      sqlite.run('INSERT INTO texts (ref, salt, text) VALUES (?, ?, ?)', ref, salt, text);
      return ref;
    },
    saltedText: (ref) => sqlite.get('SELECT salt, text FROM texts WHERE ref = ?', ref) ?? null,
    takeText(ref, salt, text) {
      sqlite.run(
        'INSERT INTO texts (ref, salt, text) VALUES (?, ?, ?) ON CONFLICT (ref) DO NOTHING',
        ref,
        salt,
        text,
      );
    },
    refersTo: ownReferences((after) =>
      sqlite.all('SELECT seq, line FROM facts WHERE seq > ? ORDER BY seq', after),
    ),
    text: (ref) => sqlite.get<{ text: string }>('SELECT text FROM texts WHERE ref = ?', ref)?.text ?? null,

    countDiscard(reason, bytes, times = 1) {
      sqlite.run(
        `INSERT INTO discards (reason, times, bytes) VALUES (?, ?, ?)
         ON CONFLICT (reason) DO UPDATE SET times = times + excluded.times, bytes = bytes + excluded.bytes`,
        reason,
        times,
        bytes,
      );
    },
    discards: () => sqlite.all('SELECT reason, times, bytes FROM discards ORDER BY reason'),

    versions: () => ({
      sqlite: sqlite.get<{ version: string }>('SELECT sqlite_version() AS version')!.version,
      schema: sqlite.get<{ user_version: number }>('PRAGMA user_version')!.user_version,
    }),

    logger() {
      const row = sqlite.get<{
        pid: number;
        beat_utc_ms: number;
        now_utc_ms: number;
        speed: number;
        state: string;
      }>('SELECT pid, beat_utc_ms, now_utc_ms, speed, state FROM logger');
      return row
        ? {
            pid: row.pid,
            beat: row.beat_utc_ms as UtcMs,
            now: row.now_utc_ms as UtcMs,
            speed: row.speed,
            state: row.state,
          }
        : null;
    },
    setLogger(row) {
      sqlite.run(
        `INSERT INTO logger (only, pid, beat_utc_ms, now_utc_ms, speed, state) VALUES (1, ?, ?, ?, ?, ?)
         ON CONFLICT (only) DO UPDATE SET pid = excluded.pid, beat_utc_ms = excluded.beat_utc_ms,
           now_utc_ms = excluded.now_utc_ms, speed = excluded.speed, state = excluded.state`,
        row.pid,
        row.beat,
        row.now,
        row.speed,
        row.state,
      );
    },
    beat: ({ pid, beat, now, speed, state }) =>
      sqlite.unsynced(
        () =>
          sqlite.run(
            'UPDATE logger SET beat_utc_ms = ?, now_utc_ms = ?, speed = ?, state = ? WHERE pid = ?',
            beat,
            now,
            speed,
            state,
            pid,
          ) > 0,
      ),
    clearLogger(pid) {
      sqlite.run('DELETE FROM logger WHERE pid = ?', pid);
    },
    close: () => sqlite.close(),
  };
}
