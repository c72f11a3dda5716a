import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openStoreToWrite } from '../../src/store/store.js';
import { CARRIERS, type Look, longRun, PROBES, START } from '../logger/fourCarriers.js';
import type { Row } from './row.js';

/** Emulated hours after which is looked: when all has settled, and at the end. */
const [SETTLED, END] = [0.5, 2];

let run: Promise<readonly [Look, Look]> | null = null;
/** One run for all rows. */
const looks = (): Promise<readonly [Look, Look]> => {
  run ??= measure();
  return run;
};

async function measure(): Promise<readonly [Look, Look]> {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-bench-'));
  const store = openStoreToWrite(join(folder, 'x.sqlite'), START);
  try {
    const [settled, end] = await longRun(store, [SETTLED, END]);
    const least = CARRIERS.length * PROBES * (END * 360 - 3);
    if (end!.readings < least) throw new Error(`${end!.readings} readings, not ${least}`);
    return [settled!, end!];
  } finally {
    store.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

const SUBJECT = `logger: four carriers of ten probes, ${END} emulated hours`;

export const rows: readonly Row[] = [
  {
    name: `${SUBJECT}: computing`,
    against: 'one core for the time that passed',
    aim: { atMost: 0.01 },
    runs: 1,
    async measure() {
      const [, { cpuShare }] = await looks();
      const seconds = (END - SETTLED) * 3600;
      return { ours: cpuShare * seconds, other: seconds };
    },
  },
  {
    name: `${SUBJECT}: heap kept at the end`,
    against: `the heap kept after ${SETTLED} h`,
    aim: { atMost: 1.1 },
    unit: 'KiB',
    runs: 1,
    async measure() {
      const [settled, end] = await looks();
      return { ours: end.heapMiB * 1024, other: settled.heapMiB * 1024 };
    },
  },
];
