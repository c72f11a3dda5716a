import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { median, type Row, timed } from './row.js';

const PROGRAM = fileURLToPath(new URL('../../src/cli/stillwarm.js', import.meta.url));
const STARTS = 9;

/** Median seconds of several starts of node with these arguments. */
async function start(...args: string[]): Promise<number> {
  const times: number[] = [];
  for (let n = 0; n < STARTS; n += 1) {
    const { seconds, value } = await timed(() => spawnSync(process.execPath, args, { stdio: 'ignore' }));
    if (value.status !== 0) throw new Error(`node ${args.join(' ')} ended with ${value.status}`);
    times.push(seconds);
  }
  return median(times);
}

export const rows: readonly Row[] = [
  {
    name: 'start: stillwarm --help',
    against: 'node -e 0',
    aim: { atMost: 1.6 },
    runs: 3,
    measure: async () => ({ ours: await start(PROGRAM, '--help'), other: await start('-e', '0') }),
  },
];
