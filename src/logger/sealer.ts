import type { Store } from '../store/store.js';
import { durationMs, later, MS_PER_MINUTE, minutes, type UtcMs } from '../units/time.js';
import type { Say } from './say.js';

/** Seals finished hours of readings while a logger is at work. */
export interface Sealer {
  /**
   * Seals at most one hour of one boot. To be called now and then, when no board waits for an answer.
   *
   * @param now the logger's own time, by which readings are labelled
   */
  look(now: UtcMs): void;
}

/**
 * An hour is left alone for so long after its end, and readings for so long after they came (j): what a board repeats
 * or its log fills in meanwhile needs no supplement.
 */
export const GRACE = minutes(10);

/** @param say takes one sentence when sealing fails; readings then stay what they are, and it is tried again */
export function sealer(store: Store, say: Say): Sealer {
  /** What had arrived when, at most once a minute. */
  let marks: { readonly at: UtcMs; readonly id: number }[] = [];
  let settled = 0;
  let said = '';
  let notBefore = Number.NEGATIVE_INFINITY;
  return {
    look(now) {
      if (now < notBefore) return;
      const before = later(now, durationMs(-GRACE));
      try {
        if (now - (marks.at(-1)?.at ?? 0) >= MS_PER_MINUTE) marks.push({ at: now, id: store.lastReading() });
        settled = marks.findLast(({ at }) => at <= before)?.id ?? settled;
        marks = marks.filter(({ at }) => at > before);
        store.sealOldest(before, settled, now);
        said = '';
      } catch (error) {
        const { message } = error as Error;
        if (message !== said)
          say(`finished hours of readings are not sealed yet: ${message}`, undefined, 'warn');
        said = message;
        notBefore = now + GRACE;
      }
    },
  };
}
