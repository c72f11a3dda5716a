import type { Alarm } from '../exposure/live.js';
import { type MonotonicMs, seconds } from '../units/time.js';
import type { AlarmRow } from './alarms.js';

/** What the bell remembers of an alarm. */
interface Known {
  /** When it last sounded; null while it never did. */
  readonly sounded: MonotonicMs | null;
  readonly seen: MonotonicMs;
}

/** The alarms of the last looks, by id. */
export type Sounded = ReadonlyMap<string, Known>;

export interface Bell {
  /** What to sound now; null is silence. */
  readonly sound: Alarm['level'] | null;
  readonly sounded: Sounded;
}

/** How often the terminal's bell rings for each of the two sounds. */
export const STROKES: Readonly<Record<Alarm['level'], number>> = { 'act-now': 2, due: 1 };

/** An alarm that nobody acknowledges sounds again this often (j). */
export const REPEAT_AFTER = seconds(30);
/** One that comes back sooner is the same as before: a reading at a limit goes to and fro (j). */
export const FORGET_AFTER = seconds(60);

/**
 * Sounds for each alarm that is new, and again until somebody acknowledges it. All that must sound sounds together,
 * as the one of the two sounds that cannot wait. What was muted sounds once that ends.
 */
export function bell(
  before: Sounded,
  alarms: readonly AlarmRow[],
  { muted, acknowledged }: { readonly muted: boolean; readonly acknowledged: ReadonlySet<string> },
  now: MonotonicMs,
): Bell {
  const waiting = muted ? [] : alarms.filter(({ id }) => !acknowledged.has(id));
  const isOverdue = ({ id }: AlarmRow) => {
    const sounded = before.get(id)?.sounded ?? null;
    return sounded === null || now - sounded >= REPEAT_AFTER;
  };
  const rings = waiting.some(isOverdue);
  const sounded = new Map([...before].filter(([, { seen }]) => now - seen < FORGET_AFTER));
  for (const { id } of alarms) sounded.set(id, { sounded: sounded.get(id)?.sounded ?? null, seen: now });
  if (rings) for (const { id } of waiting) sounded.set(id, { sounded: now, seen: now });
  if (!rings) return { sound: null, sounded };
  return { sound: waiting.some(({ level }) => level === 'act-now') ? 'act-now' : 'due', sounded };
}

/** The acknowledged alarms that there still are: one that was gone and comes again is new. */
export const stillAcknowledged = (acknowledged: ReadonlySet<string>, known: Sounded): ReadonlySet<string> =>
  [...acknowledged].every((id) => known.has(id))
    ? acknowledged
    : new Set([...acknowledged].filter((id) => known.has(id)));
