import { trustworthy } from '../exposure/trustworthy.js';
import type { RecordedFact } from '../store/facts.js';
import { UNPLACED } from '../store/logShelf.js';
import type { StoredReading } from '../store/store.js';
import type { UtcMs } from '../units/time.js';
import type { Season } from '../visit/season.js';

/**
 * One point of the server. Measurement, tags and time are its key: the same reading or ruling always has the
 * same key, and no two have one, so that sending it again changes nothing. Hence only what never changes is a tag.
 */
export interface Point {
  readonly measurement: string;
  readonly tags: Readonly<Record<string, string>>;
  /** Always floats, for a field keeps the type of its first value. */
  readonly fields: Readonly<Record<string, number>>;
  /** Milliseconds since 1970. */
  readonly timestamp: number;
}

export const READINGS = 'stillwarm_reading';
export const RULINGS = 'stillwarm_ruling';

/** The last whole millisecond that fits into 64 bits of nanoseconds. */
const TIMESTAMP_MAX = 9_223_372_036_853;

/** Whether the protocol can carry a time. */
const isSendable = (at: UtcMs): boolean => at > 0 && at <= TIMESTAMP_MAX;

/**
 * A reading as a point, uncorrected; null for one that nobody can place in time. It is sent when its time has
 * been proven, and a proven time never changes.
 *
 * @param store the id in the store's first fact
 */
export function pointOfReading(
  { rom, board, boot, utc, raw, status }: StoredReading,
  store: string,
): Point | null {
  if (status === UNPLACED || !isSendable(utc)) return null;
  const value = trustworthy(status, raw);
  const isUsable = typeof value === 'number';
  return {
    measurement: READINGS,
    tags: { store, board, boot: String(boot), probe: rom },
    fields: isUsable ? { celsius: value, usable: 1 } : { usable: 0 },
    timestamp: utc,
  };
}

/**
 * A recorded ruling, by rule or by a person, as a point; null for any other fact. A changed ruling is a fact, and
 * so a point, of its own.
 */
export function pointOfRuling(
  { seq, recorded, fact }: RecordedFact,
  season: Season,
  store: string,
): Point | null {
  if (fact.type !== 'cup-ruled' && fact.type !== 'cup-overruled') return null;
  const cup = season.cups.get(fact.cup);
  const visit = cup && season.visits.get(cup.visit);
  if (!cup || !visit || !isSendable(recorded)) return null;
  return {
    measurement: RULINGS,
    tags: {
      store,
      fact: String(seq),
      visit: cup.visit,
      yard: visit.yard,
      cup: cup.cup,
      kind: cup.kind,
      ...(cup.active === null ? {} : { active: tagText(cup.active) }),
      ...(cup.lot === null ? {} : { lot: tagText(cup.lot) }),
      ruling: fact.ruling,
      by: fact.type === 'cup-ruled' ? 'rule' : 'person',
    },
    fields: { valid: fact.ruling === 'valid' ? 1 : 0 },
    timestamp: recorded,
  };
}

/**
 * People's words as a tag's value. The protocol escapes commas, equals signs and spaces (the client does), but cannot
 * carry a backslash everywhere, and a line break would begin a line of its own.
 */
export const tagText = (words: string): string =>
  words
    .replaceAll('\\', '/')
    .replace(/[\p{Cc}\u2028\u2029]+/gu, ' ')
    .trim();
