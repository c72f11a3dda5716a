import { minutes, type UtcMs, utcMs } from '../../units/time.js';

/** Something that is so now, as a sentence for whoever hears instead of seeing. */
export interface Statement {
  /** What it is about; at a time one thing is said of it. */
  readonly id: string;
  /** It is news when this changes, whatever the numbers in its sentence do meanwhile. */
  readonly state: string;
  readonly sentence: string;
  /**
   * Known without being said: `at first`, while nothing was said of it before, for that all is well is news only
   * after trouble; or now in any case, for another sentence says it.
   */
  readonly silent?: 'at first' | 'now';
  /** Said at once; other news of the same thing waits, for a reading at a limit goes to and fro. */
  readonly isUrgent?: true;
  /** Said when nothing is so any more; left out when there is nothing to say. */
  readonly over?: string;
}

/** What was said of one thing. */
interface Said {
  readonly state: string;
  /** When each state was last said. */
  readonly times: ReadonlyMap<string, UtcMs>;
  /** When something was last said of it. */
  readonly last: UtcMs;
  readonly seen: UtcMs;
  readonly over: string | undefined;
}

/** What people have been told so far, by the id of what it is about. */
export type Told = ReadonlyMap<string, Said>;
export const NOTHING_TOLD: Told = new Map();
const NEVER = utcMs(Number.NEGATIVE_INFINITY);

/** Of one thing no second sentence is said sooner, unless it cannot wait; nothing twice sooner in any case (j). */
export const PAUSE = minutes(1);

/**
 * What is to be said now, each sentence once: what is new, and what is over.
 *
 * @param now the time of the cups
 */
export function tell(
  before: Told,
  statements: readonly Statement[],
  now: UtcMs,
): { readonly sentences: readonly string[]; readonly told: Told } {
  // A clock that was set back makes nobody wait.
  const isPast = (at: UtcMs) => now - at >= PAUSE || now < at;
  const told = new Map<string, Said>();
  const sentences: string[] = [];
  for (const { id, state, sentence, silent, isUrgent, over } of statements) {
    const known = before.get(id);
    if (known?.state === state) {
      told.set(id, { ...known, seen: now, over });
      continue;
    }
    const saidThen = known?.times.get(state);
    const mayBeSaid =
      known === undefined ||
      isPast(known.last) ||
      (isUrgent === true && (saidThen === undefined || isPast(saidThen)));
    if (known !== undefined && !mayBeSaid) {
      told.set(id, { ...known, seen: now });
      continue;
    }
    const isSilent = silent === 'now' || (known === undefined && silent === 'at first');
    if (!isSilent) sentences.push(sentence);
    const last = isSilent ? (known?.last ?? NEVER) : now;
    const times = new Map(known?.times).set(state, last);
    told.set(id, { state, times, last, seen: now, over });
  }
  for (const [id, known] of before) {
    if (told.has(id)) continue;
    if (known.over === undefined) continue;
    if (isPast(known.seen)) sentences.push(known.over);
    // It may come back, and then it is no news.
    else told.set(id, known);
  }
  return { sentences, told };
}
