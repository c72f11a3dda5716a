import { canShowUnicode } from '../../screen/ascii.js';
import { CAUTION } from '../../screen/entry/panel.js';
import type { LookoutOptions } from '../../screen/lookout.js';
import type { Unit } from '../../screen/view.js';
import type { Clock } from '../../units/clock.js';
import { type DurationMs, seconds } from '../../units/time.js';
import type { Io } from '../io.js';
import { stopSignal } from '../stopSignal.js';
import { errSentence } from '../wrapped.js';
import { diskBeside } from './showScreen.js';

/** What is said before the first line. */
const INTRODUCTION = `Changes are told as sentences, ${CAUTION}. A warm cup is told of when it is not warm any more. Ctrl-C ends this.`;

/** As often as the screen is renewed. */
const PERIOD = seconds(0.5);

/** Tells what changes in a store until it is finished, somebody stops it, or nobody reads on. */
export async function tellPlainly({
  signal: callers,
  period = PERIOD,
  io,
  ...what
}: Omit<LookoutOptions, 'diskFree' | 'hindered'> & {
  readonly clock: Clock;
  readonly finished: () => boolean;
  readonly say: (line: string) => void;
  readonly io: Io;
  readonly unit: Unit;
  readonly signal?: AbortSignal;
  readonly period?: DurationMs;
}): Promise<void> {
  const { runPlain } = await import('../../screen/plain/runPlain.js');
  errSentence(io, INTRODUCTION);
  const { signal: own, stop, done } = stopSignal();
  for (const stream of [process.stdout, process.stderr]) stream.once('error', stop);
  try {
    await runPlain({
      ...what,
      period,
      isUnicode: canShowUnicode(process.env),
      ...diskBeside(what.store),
      signal: callers === undefined ? own : AbortSignal.any([own, callers]),
    });
  } finally {
    for (const stream of [process.stdout, process.stderr]) stream.off('error', stop);
    done();
  }
}
