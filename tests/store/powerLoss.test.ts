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

/** Cuts the power at so many moments of a recording and counts what is found. */
const cut = (operations: readonly Operation[], times: number, seed: number): Map<string, number> => {
  const chance = seededChance(seed);
  return cutPower(operations, anywhere(operations, times, chance), chance, (path, said) =>
    lossIn(path, said.length),
  );
};

describe.skipIf(whyNot('strace'))(`a store after the power was lost ${whyNot('strace') ?? ''}`, () => {
  let full: Operation[];
  beforeAll(() => {
    full = recorded(...opened('FULL'));
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

  it('would not if an hour were sealed in two transactions (negative control)', () => {
    const to = "sqlite.exec('COMMIT'); sqlite.exec('BEGIN IMMEDIATE'); const gone =";
    const inTwo = { file: 'src/store/sealing.js', from: 'const gone =', to };
    const found = cut(recorded(...opened('FULL'), inTwo), 300, 13);
    expect(found.get('a sealed block is broken')).toBeGreaterThan(3);
    expect(found.get('something acknowledged is lost')).toBeUndefined();
  });
});
