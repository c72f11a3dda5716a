import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { eachInNewFolder } from '../tools/newFolder.js';

/** The SQLite driver with garbage collected all the time: what it lets its collector take must neither crash it nor be lost. */
const ROUNDS = Number(process.env['STILLWARM_DRIVER_ROUNDS'] ?? 60);
const BUILD = fileURLToPath(new URL('../../.build', import.meta.url));
const SOAK = fileURLToPath(new URL('driverSoak/soak.mjs', import.meta.url));
/** Between first and last look, both at the end of a file's life. */
const HEAP_GROWTH_MAX = 2_000_000;
/** What the system holds for the process settles late; handles that are kept cost 1.5 MB a round (measured). */
const MEMORY_GROWTH_MAX = 64_000_000;

/** Two handles that the collector has not got yet: a file, and the two beside it, each. */
const OPEN_MAX = 6;

interface Look {
  readonly rounds: number;
  readonly rows: number;
  readonly openFiles: number;
  readonly rss: number;
  readonly heapUsed: number;
  readonly external: number;
}

let folder: string;
eachInNewFolder((fresh) => {
  folder = fresh;
});

/** Runs the driver in a process of its own, which it may crash; gives how that ended, and what was seen meanwhile. */
async function soaked(rounds: number, ...more: string[]): Promise<{ end: number | string; looks: Look[] }> {
  const child = spawn(process.execPath, ['--expose-gc', SOAK, BUILD, folder, String(rounds), ...more], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let said = '';
  child.stdout.on('data', (text) => {
    said += text;
  });
  const [code, signal] = await once(child, 'close');
  const looks = said
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as Look);
  if (process.env['STILLWARM_DRIVER_ROUNDS']) process.stderr.write(said);
  return { end: code ?? signal, looks };
}

describe('the SQLite driver with garbage collection forced', () => {
  it(`does what it is told for ${ROUNDS} rounds, and keeps neither files nor memory`, async () => {
    const { end, looks } = await soaked(ROUNDS);
    expect(end).toBe(0);
    const [first, last] = [looks[0]!, looks.at(-1)!];
    expect(last.rounds).toBeGreaterThan(ROUNDS / 2);
    expect(last.rows).toBe(last.rounds * 40);
    expect(Math.max(...looks.map(({ openFiles }) => openFiles))).toBeLessThanOrEqual(OPEN_MAX);
    expect(last.heapUsed + last.external - first.heapUsed - first.external).toBeLessThan(HEAP_GROWTH_MAX);
    expect(last.rss - first.rss).toBeLessThan(MEMORY_GROWTH_MAX);
  }, 86_400_000);

  it('is found to keep files when handles are kept (negative control)', async () => {
    const { end, looks } = await soaked(20, 'keep');
    expect(end).toBe(0);
    expect(looks[0]!.openFiles).toBeGreaterThan(OPEN_MAX);
  });
});
