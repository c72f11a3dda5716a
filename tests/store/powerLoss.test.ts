import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../src/store/store.js';
import { seededChance } from '../../src/units/clock.js';
import type { RomId } from '../../src/units/ids.js';
import { Refusal } from '../../src/units/refusal.js';
import { utcMs } from '../../src/units/time.js';
import { whyNot } from '../tools/debianPrograms.js';
import { anywhere, cutPower } from './powerLoss/cutPower.js';
import { type Change, type Operation, opened, recordProgram } from './powerLoss/recording.js';

const TRANSACTIONS = 120;
const CRASHES = Number(process.env['STILLWARM_POWER_LOSSES'] ?? 1000);
/** Nine scans are an hour, see writer.mjs. */
const SEALED_LEAST = 10;
const ROM = '28-87-1F-3A-0C-00-00-8A' as RomId;
const PROBES = 3;
const NOW = utcMs(1_800_000_000_000);

/** What is wrong with a store after the power had gone; null when nothing is. */
function lossIn(path: string, acknowledged: number): string | null {
  try {
    const store = openStoreToWrite(path, NOW);
    try {
      if (store.brokenAt() !== null) return 'the chain is broken';
      if (store.brokenBlocks().length > 0) return 'a sealed block is broken';
      const facts = store.facts().filter(({ fact }) => fact.type === 'probe-assigned').length;
      const scans = [...store.scansOf('0000ABCD' as never, 1).values()];
      if (facts < acknowledged || scans.length < acknowledged) return 'something acknowledged is lost';
      if (scans.length !== facts || scans.some((readings) => readings !== PROBES))
        return 'half a transaction is there';
      const readings = store.readings(ROM, utcMs(0), NOW);
      if (readings.length !== facts) return 'a reading is there twice or not at all';
      if (readings.some(({ raw }) => raw !== 400)) return 'a reading is invented';
      return null;
    } finally {
      store.close();
    }
  } catch (error) {
    if (error instanceof Refusal) return `refused: ${error.message}`;
    throw error;
  }
}

const WRITER = fileURLToPath(new URL('powerLoss/writer.mjs', import.meta.url));
const recorded = (...changes: readonly Change[]) =>
  recordProgram(WRITER, ['1', String(TRANSACTIONS)], changes);
/** Fewer transactions, of which one sync fails, while somebody reads for long. */
const failingAt = (failing: number | null, ...changes: readonly Change[]) =>
  recordProgram(WRITER, ['1', '40', 'read'], [...opened('FULL'), ...changes], failing);

/** Cuts the power at so many moments of a recording and counts what is found. */
const cut = (operations: readonly Operation[], times: number, seed: number): Map<string, number> => {
  const chance = seededChance(seed);
  return cutPower(operations, anywhere(operations, times, chance), chance, (path, said) =>
    lossIn(path, said.length),
  );
};

describe.skipIf(whyNot('strace'))(`a store after the power was lost ${whyNot('strace') ?? ''}`, () => {
  let full: Operation[];
  let unfailing: Operation[];
  beforeAll(() => {
    full = recorded(...opened('FULL'));
    unfailing = failingAt(null);
  });

  it('is recorded with its commits, checkpoints and acknowledgements', () => {
    const count = (does: Operation['does'], file?: string) =>
      full.filter(
        (each) => each.does === does && (file === undefined || ('file' in each && each.file === file)),
      ).length;
    expect(count('say')).toBe(TRANSACTIONS);
    // One sync a transaction (docs: one an acknowledged scan), and those of checkpoints.
    expect(count('sync', 'store-wal')).toBeGreaterThanOrEqual(TRANSACTIONS);
    expect(count('sync', 'store')).toBeGreaterThan(5);
    // And one for each hour that was sealed.
    expect(count('sync', 'store-wal')).toBeGreaterThanOrEqual(TRANSACTIONS + SEALED_LEAST);
  });

  it(`holds whatever was acknowledged, at ${CRASHES} moments`, () => {
    expect([...cut(full, CRASHES, 11)]).toEqual([['nothing', CRASHES]]);
  });

  it('is begun anew when its very beginning was broken off, and no other file is', () => {
    const folder = mkdtempSync(join(tmpdir(), 'stillwarm-begun-'));
    const path = join(folder, 'store');
    // A journal that takes the file back to no page (SQLite file format 1.5, section 4.1.1: magic, count, nonce, initial pages).
    const journal = (initialPages: number) => {
      const bytes = Buffer.alloc(512);
      bytes.write('d9d505f920a163d7', 'hex');
      bytes.writeUInt32BE(initialPages, 16);
      bytes.writeUInt32BE(512, 20);
      bytes.writeUInt32BE(4096, 24);
      return bytes;
    };
    writeFileSync(path, Buffer.alloc(4096));
    writeFileSync(`${path}-journal`, journal(7));
    expect(() => openStoreToWrite(path, NOW)).toThrow(/not a stillwarm store/);
    writeFileSync(`${path}-journal`, journal(0));
    const store = openStoreToWrite(path, NOW);
    expect(store.facts()).toHaveLength(1);
    store.close();
    rmSync(folder, { recursive: true });
  });

  it('would not without a sync at each commit (negative control)', () => {
    const found = cut(recorded(...opened('NORMAL')), 200, 12);
    expect(found.get('something acknowledged is lost')).toBeGreaterThan(50);
    // It is what was acknowledged that such a store loses, not its wholeness.
    expect(found.get('the chain is broken')).toBeUndefined();
  });

  /** The syncs of a recording, by their number, and whether each belongs to a checkpoint: of the file, or right before that was written. */
  function syncs(operations: readonly Operation[]) {
    const list = operations.filter((each) => each.does.startsWith('sync'));
    const before = (at: number) => operations[operations.indexOf(list[at]!) + 1];
    return list.map((each, at) => {
      const file = 'file' in each ? each.file : '';
      const next = before(at);
      const isCheckpoint = file === 'store' || (next?.does === 'write' && next.file === 'store');
      return { number: at + 1, file, isCheckpoint, didFail: each.does === 'sync-fails' };
    });
  }
  /** Moments behind the sync that failed, where what it cost is not made up for yet or never is. */
  const cutBehind = (operations: readonly Operation[], seed: number) => {
    const chance = seededChance(seed);
    const from = operations.findIndex(({ does }) => does === 'sync-fails');
    const moments = Array.from({ length: 60 }, () => from + Math.floor(chance.uniform() * 200));
    return cutPower(operations, moments, chance, (path, said) => lossIn(path, said.length));
  };

  const checkpoints = (operations: readonly Operation[]) =>
    syncs(operations).filter((each) => each.number > 20 && each.isCheckpoint);

  it.each([
    [
      'of a commit',
      (each: ReturnType<typeof syncs>[number]) => each.file === 'store-wal' && !each.isCheckpoint,
    ],
    ['of the write-ahead file in a checkpoint', (each) => each.file === 'store-wal' && each.isCheckpoint],
    ['of the file in a checkpoint', (each) => each.file === 'store'],
  ])('holds whatever was acknowledged when a sync %s fails', (_, wanted) => {
    const all = syncs(unfailing).filter((each) => each.number > 20 && wanted(each));
    expect(all.length).toBeGreaterThan(3);
    const operations = failingAt(all[1]!.number);
    expect(syncs(operations).filter(({ didFail }) => didFail)).toMatchObject([{ file: all[1]!.file }]);
    expect([...cutBehind(operations, 14)]).toEqual([['nothing', 60]]);
  });

  it.each<[string, ...Change[]]>([
    [
      'if SQLite did its checkpoints by itself',
      { file: 'src/store/sqlite.js', from: 'wal_autocheckpoint = 0', to: 'wal_autocheckpoint = 40' },
      {
        file: 'src/store/sqlite.js',
        from: 'if (isSynced && sinceCheckpoint',
        to: 'if (false && sinceCheckpoint',
      },
    ],
    [
      'if the file were not written anew as a whole',
      { file: 'src/store/sqlite.js', from: "sqlite.exec('VACUUM');", to: '' },
    ],
  ])('would not %s (negative control)', (_, ...changes) => {
    // One after the other, until one shows it.
    const found = checkpoints(failingAt(null, ...changes)).find(({ number }) => {
      const losses = [...cutBehind(failingAt(number, ...changes), 15)];
      return losses.some(([loss]) => loss !== 'nothing');
    });
    expect(found).toBeDefined();
  });

  it('would not if an hour were sealed in two transactions (negative control)', () => {
    const to = "sqlite.exec('COMMIT'); sqlite.exec('BEGIN IMMEDIATE'); const gone =";
    const inTwo = { file: 'src/store/sealing.js', from: 'const gone =', to };
    const found = cut(recorded(...opened('FULL'), inTwo), 300, 13);
    expect(found.get('a sealed block is broken')).toBeGreaterThan(3);
    expect(found.get('something acknowledged is lost')).toBeUndefined();
  });
});
