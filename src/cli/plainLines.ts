import { canShowUnicode } from '../screen/ascii.js';
import { CAUTION } from '../screen/frame.js';
import type { LookoutOptions } from '../screen/lookout.js';
import type { Clock } from '../units/clock.js';
import { type DurationMs, seconds } from '../units/time.js';
import { diskFreeBeside } from './showScreen.js';
import { stopSignal } from './stopSignal.js';

export const PLAIN_OPTION = [
  '--plain',
  'tell changes as sentences, a line each, in place of the screen (always so in a pipe, or with TERM=dumb)',
] as const;

/** What is said before the first line. */
export const PLAIN_INTRODUCTION = `Changes are told as sentences, ${CAUTION}. A warm cup is told of when it is not warm any more. Ctrl-C ends this.`;

/** Whether there are to be lines in place of the screen: when asked for, and where no screen can be drawn. */
export const isPlain = (
  { plain }: { readonly plain?: true },
  { isTTY, term } = { isTTY: process.stdout.isTTY === true, term: process.env['TERM'] },
): boolean => plain === true || !isTTY || term === 'dumb';

/** As often as the screen is renewed. */
const PERIOD = seconds(0.5);

/** Tells what changes in a store until it is finished, somebody stops it, or nobody reads on. */
export async function tellPlainly({
  signal: callers,
  period = PERIOD,
  ...what
}: Omit<LookoutOptions, 'diskFree'> & {
  readonly clock: Clock;
  readonly finished: () => boolean;
  readonly say: (line: string) => void;
  readonly signal?: AbortSignal;
  readonly period?: DurationMs;
}): Promise<void> {
  const { runPlain } = await import('../screen/plain/runPlain.js');
  const { signal: own, stop, done } = stopSignal();
  for (const stream of [process.stdout, process.stderr]) stream.once('error', stop);
  try {
    await runPlain({
      ...what,
      period,
      unit: 'C',
      isUnicode: canShowUnicode(process.env),
      diskFree: diskFreeBeside(what.store),
      signal: callers === undefined ? own : AbortSignal.any([own, callers]),
    });
  } finally {
    for (const stream of [process.stdout, process.stderr]) stream.off('error', stop);
    done();
  }
}
