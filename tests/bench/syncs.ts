import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openStoreToWrite } from '../../src/store/store.js';
import { CARRIERS, longRun, PROBES, START } from '../logger/fourCarriers.js';
import { missingPackages } from '../tools/debianPrograms.js';
import type { Row } from './row.js';

/** Emulated hours; what happens in the first one, as boots and new tables, is left out of the count. */
const [SETTLED, END] = [1, 3];

/** The logger at work with four carriers; the script that strace runs. */
export async function run(path: string, hours: number): Promise<void> {
  const store = openStoreToWrite(path, START);
  await longRun(store, [hours]);
  store.close();
}

/** How often a running logger makes the disk sync in so many hours, and how many readings it then has. */
function counted(hours: number): { readonly syncs: number; readonly readings: number } {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-syncs-'));
  try {
    const [trace, path] = [join(folder, 'trace'), join(folder, 'x.sqlite')];
    const script = `const { run } = await import(${JSON.stringify(import.meta.url)});
      await run(${JSON.stringify(path)}, ${hours});`;
    const traced = [
      '--seccomp-bpf',
      '-f',
      '-qq',
      '-e',
      'trace=fsync,fdatasync',
      '-o',
      trace,
      process.execPath,
    ];
    const { status } = spawnSync('strace', [...traced, '--input-type=module', '-e', script], {
      stdio: ['ignore', 'ignore', 'inherit'],
    });
    if (status !== 0) throw new Error(`strace ended with ${status}`);
    const store = openStoreToWrite(path, START);
    const readings = store.readingCount();
    store.close();
    const syncs = readFileSync(trace, 'latin1')
      .split('\n')
      .filter((line) => /f(data)?sync\(/.test(line)).length;
    return { syncs, readings };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const synced: Row = {
  name: `logger: syncs of the disk, four carriers of ten probes, ${END - SETTLED} emulated hours`,
  against: 'one a scan',
  // Besides: checkpoints, sealed hours, facts. Pages of the boards' logs become durable with scans.
  aim: { atMost: 1.03 },
  runs: 1,
  unit: 'syncs',
  async measure() {
    const [settled, end] = [counted(SETTLED), counted(END)];
    const scans = (end.readings - settled.readings) / PROBES;
    if (scans !== CARRIERS.length * (END - SETTLED) * 360) throw new Error(`${scans} scans`);
    return { ours: end.syncs - settled.syncs, other: scans };
  },
};

export const rows: readonly Row[] = missingPackages(['strace']).length === 0 ? [synced] : [];
