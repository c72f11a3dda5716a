import type { Clock } from '../../units/clock.js';
import type { DurationMs } from '../../units/time.js';
import { asciiText } from '../ascii.js';
import { type LookoutOptions, lookoutOn } from '../lookout.js';
import { timeText, type Unit } from '../view.js';
import { statements } from './statements.js';
import { NOTHING_TOLD, tell } from './telling.js';

export interface PlainOptions extends LookoutOptions {
  readonly clock: Clock;
  /** How often the store is looked at. */
  readonly period: DurationMs;
  readonly unit: Unit;
  /** Whether more than ASCII may be printed. */
  readonly isUnicode: boolean;
  /** Prints one line. */
  readonly say: (line: string) => void;
  /** Whether there is nothing more to wait for. */
  readonly finished: () => boolean;
  /** Aborted when nobody wants to hear more. */
  readonly signal: AbortSignal;
}

/**
 * Tells what changes in a store, a sentence a line: for a screen reader, a pipe, or a terminal that can only print.
 * Returns when it is finished or stopped; logging goes on.
 */
export async function runPlain(options: PlainOptions): Promise<void> {
  const { clock, period, unit, isUnicode, say, finished, signal } = options;
  const lookout = lookoutOn(options);
  let told = NOTHING_TOLD;
  while (!signal.aborted) {
    // Asked first: what there was by then is told.
    const isLast = finished();
    const situation = lookout.look();
    const news = tell(told, statements(situation, unit), situation.at);
    told = news.told;
    for (const sentence of news.sentences) {
      const line = `${timeText(situation.at, situation.zone)} ${printable(sentence)}`;
      say(isUnicode ? line : asciiText(line));
    }
    if (isLast) return;
    await clock.sleep(period, signal);
  }
}

/** A sentence without what moves a cursor or colours a terminal, whoever typed it into a name. */
export const printable = (sentence: string): string => sentence.replace(/\p{Cc}+/gu, ' ');
