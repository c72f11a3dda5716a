import { readdirSync, readlinkSync, rmSync } from 'node:fs';
import { join } from 'node:path';

/**
 * The SQLite driver at everything the store does with it, garbage collected all the time: `node --expose-gc soak.mjs BUILD FOLDER
 * ROUNDS [keep]`. Prints a JSON line at the end of each file, or of every tenth of a long run; with `keep` no handle is ever let go of.
 */
const [build, folder, rounds, keep] = process.argv.slice(2);
const { openSqlite } = await import(join(build, 'src/store/sqlite.js'));
const { seededChance } = await import(join(build, 'src/units/clock.js'));
const ROUNDS = Number(rounds);
const LOOKS_MAX = 10;
/** A file lives for so many rounds. */
const FILE_ROUNDS = 20;
const ROWS = 20;

const chance = seededChance(7);
const upTo = (most) => Math.floor(chance.uniform() * most);
const kept = [];
const turn = () => new Promise((resolve) => setImmediate(resolve));
/** Finalisers run when the loop comes round. */
async function collect() {
  global.gc();
  await turn();
}
function must(is, what) {
  if (!is) throw new Error(what);
}
function refuses(task, what) {
  let did = null;
  try {
    task();
  } catch (error) {
    did = error;
  }
  must(did !== null, `${what} was not refused`);
}
const bytesOf = (length, seed) => Uint8Array.from({ length }, (_, at) => (at * 31 + seed) & 255);

/** What is in the file by what was acknowledged. */
let expected = new Map();
let nextId = 1;

function write(transaction, sqlite) {
  const added = new Map();
  transaction(() => {
    for (let row = 0; row < ROWS; row += 1) {
      // Now and then longer than a page, so that it lies on pages of its own.
      const bytes = bytesOf(upTo(upTo(4) === 0 ? 20_000 : 300), nextId);
      const number = upTo(3) === 0 ? null : 1_778_587_200_000 + nextId;
      sqlite.run('INSERT INTO t (id, number, text, bytes) VALUES (?, ?, ?, ?)', nextId, number, `cup ${nextId} ü`, bytes);
      added.set(nextId, { number, bytes });
      nextId += 1;
      if (upTo(12) === 0) global.gc();
    }
  });
  for (const [id, row] of added) expected.set(id, row);
}

function giveUp(sqlite) {
  refuses(
    () =>
      sqlite.immediate(() => {
        sqlite.run('DELETE FROM t');
        global.gc();
        throw new Error('given up');
      }),
    'a transaction that throws',
  );
}

function readAll(sqlite) {
  sqlite.snapshot(() => {
    const rows = sqlite.all('SELECT id, number, text, bytes FROM t ORDER BY id');
    global.gc();
    must(rows.length === expected.size, `${rows.length} rows for ${expected.size}`);
    for (const { id, number, text, bytes } of rows) {
      const row = expected.get(id);
      must(row !== undefined && row.number === number && text === `cup ${id} ü`, `row ${id} is another one`);
      must(Buffer.from(bytes).equals(Buffer.from(row.bytes)), `the bytes of row ${id} are others`);
    }
  });
}

/** Statements that are used once and never again, as many as a season's commands would have. */
function manyStatements(sqlite) {
  for (let each = 0; each < 15; each += 1) {
    const { n } = sqlite.get(`SELECT COUNT(*) + ${upTo(1_000_000)} - ? AS n FROM t -- ${nextId}`, each);
    must(Number.isInteger(n), 'a count is no number');
  }
  refuses(() => sqlite.get('SELECT nothing FROM nowhere'), 'a wrong statement');
}

async function round(path) {
  const writer = openSqlite(path, 'write');
  writer.exec('CREATE TABLE IF NOT EXISTS t (id INTEGER PRIMARY KEY, number INTEGER, text TEXT NOT NULL, bytes BLOB NOT NULL) STRICT');
  write(writer.immediate, writer);
  giveUp(writer);
  const reader = openSqlite(path, 'read');
  if (upTo(2) === 0) await collect();
  readAll(reader);
  refuses(() => reader.run('DELETE FROM t'), 'a write of a reader');
  write(writer.unsynced, writer);
  manyStatements(writer);
  readAll(writer);
  // Closed in either order, or left to the collector: a command that ends in an error lets go of it so.
  const how = upTo(4);
  if (how !== 0) reader.close();
  if (how !== 1) writer.close();
  if (how === 2) refuses(() => writer.get('SELECT 1'), 'a statement after close()');
  if (keep === 'keep') kept.push(writer, reader);
}

const openFiles = () =>
  readdirSync('/proc/self/fd').filter((fd) => {
    try {
      return readlinkSync(`/proc/self/fd/${fd}`).startsWith(folder);
    } catch {
      return false;
    }
  }).length;

/** At the end of a file's life, so that looks can be compared. */
const LOOK_EVERY = FILE_ROUNDS * Math.max(1, Math.floor(ROUNDS / FILE_ROUNDS / LOOKS_MAX));
let path = '';
for (let at = 0; at < ROUNDS; at += 1) {
  if (at % FILE_ROUNDS === 0) {
    await collect();
    for (const end of ['', '-wal', '-shm']) rmSync(path + end, { force: true });
    path = join(folder, `soak-${at}`);
    expected = new Map();
  }
  await round(path);
  await collect();
  if ((at + 1) % LOOK_EVERY !== 0) continue;
  for (let tries = 0; tries < 3; tries += 1) await collect();
  const { rss, heapUsed, external } = process.memoryUsage();
  process.stdout.write(`${JSON.stringify({ rounds: at + 1, rows: nextId - 1, openFiles: openFiles(), rss, heapUsed, external })}\n`);
}
