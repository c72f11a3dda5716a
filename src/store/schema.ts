import type { Sqlite } from './sqlite.js';

/** "SWRM": marks a SQLite file as a stillwarm store. */
export const APPLICATION_ID = 0x5357_524d;
export const SCHEMA_VERSION = 6;

/** Whether a store has a table: one of an earlier version that is only read lacks the later ones, until a logger brings it up to date. */
export const hasTable = (sqlite: Sqlite, name: string): boolean =>
  sqlite.get("SELECT 1 AS there FROM sqlite_schema WHERE type = 'table' AND name = ?", name) !== undefined;

/** Brings a store of version `from` to the present one; all it holds stays. To be called inside a transaction. */
export function upgradeSchema(sqlite: Sqlite, from: number): void {
  const hasPages = hasTable(sqlite, 'pages');
  // SQLite can give a table another primary key only when it is made.
  if (hasPages) sqlite.exec('ALTER TABLE pages RENAME TO pages_before');
  if (from < 3) {
    // SQLite can give a table numbers that are never used twice only when it is made.
    sqlite.exec('ALTER TABLE readings RENAME TO readings_before; DROP INDEX readings_by_probe;');
    createSchema(sqlite);
    const columns = 'id, epoch, scan, slot_index, probe, board_ms, utc_ms, raw, status';
    sqlite.exec(`
      INSERT INTO readings (${columns}) SELECT ${columns} FROM readings_before ORDER BY id;
      DROP TABLE readings_before;
    `);
  }
  createSchema(sqlite);
  if (hasPages)
    sqlite.exec(`
      INSERT INTO pages (board, boot, log, page, bytes, is_read)
        SELECT board, boot, 0, page, bytes, CASE is_read WHEN 0 THEN 0 ELSE 2 END FROM pages_before;
      DROP TABLE pages_before;
    `);
}

/** Creates the tables that a file does not have yet: all of an empty one, the later ones of an older store. */
export function createSchema(sqlite: Sqlite): void {
  sqlite.exec(`
    CREATE TABLE IF NOT EXISTS facts (
      seq INTEGER PRIMARY KEY,
      line TEXT NOT NULL,          -- canonical JSON (RFC 8785)
      hash TEXT NOT NULL           -- SHA-256 over the hash before it, LF, line
    ) STRICT;
    CREATE TABLE IF NOT EXISTS texts (
      ref TEXT PRIMARY KEY,        -- SHA-256 over salt and text; all that facts know of it
      salt TEXT NOT NULL,
      text TEXT NOT NULL
    ) STRICT;
    CREATE TABLE IF NOT EXISTS probes (
      id INTEGER PRIMARY KEY,
      rom TEXT NOT NULL UNIQUE
    ) STRICT;
    CREATE TABLE IF NOT EXISTS epochs (
      id INTEGER PRIMARY KEY,
      board TEXT NOT NULL,
      boot INTEGER NOT NULL,
      UNIQUE (board, boot)
    ) STRICT;
    CREATE TABLE IF NOT EXISTS readings (
      id INTEGER PRIMARY KEY AUTOINCREMENT, -- in order of arrival; never used twice, for the mirror counts on it
      epoch INTEGER NOT NULL REFERENCES epochs (id),
      scan INTEGER NOT NULL,
      slot_index INTEGER NOT NULL,
      probe INTEGER NOT NULL REFERENCES probes (id),
      board_ms INTEGER NOT NULL,
      utc_ms INTEGER NOT NULL,
      raw INTEGER,                 -- sixteenths of a degree Celsius as sent
      status TEXT NOT NULL,
      UNIQUE (epoch, scan, slot_index)
    ) STRICT;
    CREATE INDEX IF NOT EXISTS readings_by_probe ON readings (probe, utc_ms);
    CREATE TABLE IF NOT EXISTS blocks (
      id INTEGER PRIMARY KEY,
      probe INTEGER NOT NULL REFERENCES probes (id),
      epoch INTEGER NOT NULL REFERENCES epochs (id),
      hour_ms INTEGER NOT NULL,    -- when the hour begins
      supplement INTEGER NOT NULL, -- 0 what was there when the hour was sealed, then what came late
      first_id INTEGER NOT NULL,   -- ids and scans of its readings, which have left the table above
      last_id INTEGER NOT NULL,
      first_scan INTEGER NOT NULL,
      last_scan INTEGER NOT NULL,
      readings INTEGER NOT NULL,
      bytes BLOB NOT NULL          -- as store/block.ts writes it; its SHA-256 is in a fact
    ) STRICT;
    CREATE INDEX IF NOT EXISTS blocks_by_probe ON blocks (probe, hour_ms);
    CREATE INDEX IF NOT EXISTS blocks_by_arrival ON blocks (last_id, first_id);
    CREATE INDEX IF NOT EXISTS blocks_by_scan ON blocks (epoch, last_scan);
    CREATE TABLE IF NOT EXISTS gathered_chains (
      number INTEGER PRIMARY KEY,  -- in the order in which they came; never 0, which is the store's own
      store TEXT NOT NULL UNIQUE   -- the id that its first fact gave it
    ) STRICT;
    CREATE TABLE IF NOT EXISTS gathered_facts (
      chain INTEGER NOT NULL REFERENCES gathered_chains (number),
      seq INTEGER NOT NULL,
      line TEXT NOT NULL,
      hash TEXT NOT NULL,
      PRIMARY KEY (chain, seq)
    ) STRICT;
    CREATE TABLE IF NOT EXISTS gathered_blocks (
      chain INTEGER NOT NULL REFERENCES gathered_chains (number),
      rom TEXT NOT NULL,
      board TEXT NOT NULL,
      boot INTEGER NOT NULL,
      hour_ms INTEGER NOT NULL,
      part INTEGER NOT NULL,       -- the supplement under which its own store sealed it; -1 what nothing had sealed
      readings INTEGER NOT NULL,
      bytes BLOB NOT NULL,         -- as store/block.ts writes it, with the numbers of its own store
      PRIMARY KEY (chain, rom, board, boot, hour_ms, part)
    ) STRICT;
    CREATE INDEX IF NOT EXISTS gathered_by_probe ON gathered_blocks (rom, hour_ms);
    CREATE TABLE IF NOT EXISTS pages (
      board TEXT NOT NULL,
      boot INTEGER NOT NULL,
      log INTEGER NOT NULL,        -- 0; above it when the boot has another page of that number: its memory was replaced meanwhile; below it of RAM
      page INTEGER NOT NULL,
      bytes BLOB NOT NULL,         -- a page of the board's log as it stands in its memory
      is_read INTEGER NOT NULL,    -- 0 not; 1 its scans are among the readings; 2 some without a proven time; 3 nobody knows their probes; below 0 the same, read before the rest of the log was here
      PRIMARY KEY (board, boot, log, page)
    ) STRICT;
    CREATE TABLE IF NOT EXISTS heard (
      board TEXT NOT NULL,
      boot INTEGER NOT NULL,
      first_ms INTEGER NOT NULL,   -- first and last scan that a host heard as it was taken
      first_utc_ms INTEGER NOT NULL,
      last_ms INTEGER NOT NULL,
      last_utc_ms INTEGER NOT NULL,
      PRIMARY KEY (board, boot)
    ) STRICT;
    CREATE TABLE IF NOT EXISTS discards (
      reason TEXT PRIMARY KEY,
      times INTEGER NOT NULL,
      bytes INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE IF NOT EXISTS mirror (
      only INTEGER PRIMARY KEY CHECK (only = 1),
      revision INTEGER NOT NULL,       -- grows whenever a person sets the mirror up or turns it off
      is_on INTEGER NOT NULL,
      target TEXT NOT NULL,            -- JSON: the server, and where its credentials are, never what they are
      readings_sent INTEGER NOT NULL,  -- id of the last reading that the server acknowledged
      facts_sent INTEGER NOT NULL,     -- the same of facts
      readings_released INTEGER NOT NULL, -- up to here nothing is ever sent again
      facts_released INTEGER NOT NULL,
      refused INTEGER NOT NULL,        -- readings and rulings that the server would not take
      state TEXT NOT NULL,
      trouble TEXT,                    -- the last one, in words
      trouble_utc_ms INTEGER,
      success_utc_ms INTEGER
    ) STRICT;
    CREATE TABLE IF NOT EXISTS logger (
      only INTEGER PRIMARY KEY CHECK (only = 1),
      pid INTEGER NOT NULL,
      beat_utc_ms INTEGER NOT NULL,    -- wall clock of the last sign of life
      now_utc_ms INTEGER NOT NULL,     -- the logger's own time, which runs faster when it plays a scenario
      speed REAL NOT NULL,
      state TEXT NOT NULL
    ) STRICT;
  `);
}
