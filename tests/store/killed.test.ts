import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { openStoreToRead } from '../../src/store/store.js';
import { seededChance } from '../../src/units/clock.js';

const KILLS = Number(process.env['STILLWARM_KILLS'] ?? 20);
const BUILD = fileURLToPath(new URL('../../.build', import.meta.url));
const WRITER = fileURLToPath(new URL('powerLoss/writer.mjs', import.meta.url));
const ENDLESS = 1_000_000;
const PROBES = 3;

/** Of so many transactions at most, and of a moment after that: by count, so that a slow computer gets as far as a fast one. */
const LIVES_MAX = 30;
const MOMENT_MS = 10;

/**
 * Writes until it is killed, so long after it has acknowledged so many transactions; the last one it acknowledged.
 */
async function killed(path: string, first: number, after: number, momentMs: number): Promise<number> {
  const writer = spawn(process.execPath, [WRITER, BUILD, path, String(first), String(ENDLESS)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let said = '';
  let isDoomed = false;
  writer.stdout.on('data', (text) => {
    said += text;
    if (isDoomed || said.split('\n').length <= after) return;
    isDoomed = true;
    setTimeout(() => writer.kill('SIGKILL'), momentMs);
  });
  await once(writer, 'close');
  // The last line may have been cut short.
  return Number(said.split('\n').at(-2)?.split(' ')[1] ?? first - 1);
}

describe('a store whose writer is killed', () => {
  it(`holds whatever it acknowledged, ${KILLS} times over`, async () => {
    const folder = mkdtempSync(join(tmpdir(), 'stillwarm-killed-'));
    const path = join(folder, 'store');
    const chance = seededChance(5);
    let next = 1;
    let lost = 0;
    let sealed = 0;
    for (let kill = 0; kill < KILLS; kill += 1) {
      const lives = Math.ceil(chance.uniform() * LIVES_MAX);
      const acknowledged = await killed(path, next, lives, chance.uniform() * MOMENT_MS);
      expect(acknowledged).toBeGreaterThanOrEqual(next);
      const store = openStoreToRead(path);
      const scans = store.scansOf('0000ABCD' as never, 1);
      expect(store.brokenAt()).toBeNull();
      const facts = store.facts();
      expect(facts.filter(({ fact }) => fact.type === 'probe-assigned')).toHaveLength(scans.size);
      expect(store.brokenBlocks()).toEqual([]);
      sealed = facts.filter(({ fact }) => fact.type === 'hour-sealed').length;
      const ids = store.readingsAfter(0, Number.MAX_SAFE_INTEGER).map(({ id }) => id);
      expect([new Set(ids).size, store.readingCount()]).toEqual([ids.length, ids.length]);
      expect([...scans.values()].every((readings) => readings === PROBES)).toBe(true);
      // At most the transaction under way may be there unsaid; none is missing.
      if (scans.size < acknowledged) lost += 1;
      expect(scans.size - acknowledged).toBeLessThanOrEqual(1);
      next = scans.size + 1;
      store.close();
    }
    expect(lost).toBe(0);
    // Nine scans are an hour, see writer.mjs; the last ones may not be sealed yet, and a kill may put it off.
    expect(next).toBeGreaterThan((KILLS * LIVES_MAX) / 3);
    expect(sealed).toBeGreaterThanOrEqual(Math.floor((next - 1) / 9) - 4);
    rmSync(folder, { recursive: true });
  }, 3_600_000);
});
