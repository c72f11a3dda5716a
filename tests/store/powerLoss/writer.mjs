/**
 * Writes transactions of one fact and three readings into a store and says on stdout when each is acknowledged. Between them
 * it gives signs of life, which are not synced. Now and then it seals the hours that have ended, which is acknowledged to nobody.
 * Arguments: the folder of the built program, the store, the first and the last transaction, and `read` to have somebody read for long
 * meanwhile, which lets no checkpoint take in what is newer. Run under strace by recording.ts, and killed by ../killed.test.ts.
 */
import { writeSync } from 'node:fs';
import { pathToFileURL } from 'node:url';

const [build, path, first, last, read] = process.argv.slice(2);
const { openStoreToWrite } = await import(pathToFileURL(`${build}/src/store/store.js`).href);
const START = 1_790_000_000_000;
/** An hour has so few scans that a short run seals many. */
const SCAN_MS = 400_000;
const SEAL_EVERY = 10;
const ROMS = ['87-1F-3A-0C-00-00-8A', 'D4-3E-3A-0C-00-00-C8', '21-5D-3A-0C-00-00-0E'].map((rom) => `28-${rom}`);

const SIGNS_OF_LIFE = 5;
const [READS_EVERY, READS_FROM] = [6, 2];

/** What the disk refused is tried again, as a logger does; it was not acknowledged. */
const stored = (task) => {
  try {
    return task();
  } catch {
    // A log that nobody reads can be taken into the file as a whole.
    release();
    return task();
  }
};

let reader = null;
const release = () => reader?.exec('COMMIT; BEGIN');
const store = stored(() => openStoreToWrite(path, START));
const sign = (utc) => ({ pid: 1, beat: utc, now: utc, speed: 1, state: 'logging' });
store.setLogger(sign(START));
const { openSqlite } = await import(pathToFileURL(`${build}/src/store/sqlite.js`).href);
if (read !== undefined) reader = openSqlite(path, 'read');
reader?.exec('BEGIN');
for (let scan = Number(first); scan <= Number(last); scan += 1) {
  const utc = START + scan * SCAN_MS;
  if (scan % READS_EVERY === 0) release();
  if (scan % READS_EVERY === READS_FROM) reader?.get('SELECT COUNT(*) FROM facts');
  const write = () => {
    store.append(utc, { type: 'probe-assigned', carrier: 'A', slot: 1 + (scan % 10), rom: ROMS[0], at: utc });
    store.addReadings(
      ROMS.map((rom, slotIndex) => ({
        ...{ rom, board: '0000ABCD', boot: 1, scan, slotIndex, boardMs: scan * SCAN_MS, utc },
        ...{ raw: 400 + slotIndex, status: 'ok' },
      })),
    );
  };
  stored(() => store.transaction(write));
  for (let second = 1; second <= SIGNS_OF_LIFE; second += 1)
    stored(() => store.beat(sign(utc + second * 2000)));
  writeSync(1, `acknowledged ${scan}\n`);
  if (scan % SEAL_EVERY === 0) while (stored(() => store.sealOldest(utc, Number.MAX_SAFE_INTEGER, utc)) !== null);
}
