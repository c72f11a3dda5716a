import { main } from '../../src/cli/main.js';
import type { Clock } from '../../src/units/clock.js';
import { monotonicMs, utcMs } from '../../src/units/time.js';

export interface Ran {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** Runs a command line in this process, at a time of the test's choosing, and catches what it prints. */
export async function run(args: readonly string[], now = '2026-05-12T15:00:00Z'): Promise<Ran> {
  let out = '';
  let err = '';
  const line = (text: string) => (text.endsWith('\n') ? text : `${text}\n`);
  const clock: Clock = {
    utc: () => utcMs(Date.parse(now)),
    monotonic: () => monotonicMs(0),
    steady: () => monotonicMs(0),
    sleep: () => Promise.resolve(),
    every: () => () => {},
  };
  const io = {
    out: (text: string) => {
      out += line(text);
    },
    err: (text: string) => {
      err += line(text);
    },
  };
  const code = await main(args, { io, clock });
  return { code, out, err };
}
