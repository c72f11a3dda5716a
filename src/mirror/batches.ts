import type { Position } from '../store/outbox.js';
import type { Store } from '../store/store.js';
import { EMPTY_SEASON, foldSeason } from '../visit/season.js';
import { type Point, pointOfReading, pointOfRuling } from './points.js';

/** What is sent in one go: all readings or all rulings. */
export interface Batch {
  readonly what: 'readings' | 'rulings';
  /** May be empty: then what lies between has nothing to send. */
  readonly points: readonly Point[];
  /** The first and the last of its readings (ids) or facts (numbers). */
  readonly first: number;
  readonly last: number;
  /** How far everything is sent when this is. */
  readonly to: Position;
}

/** Cuts what lies after a position into batches, in order of arrival; rulings first, for there are few. */
export interface Batches {
  /** At most `limit` points; null when there is nothing after `from`. */
  next(from: Position, limit: number): Batch | null;
}

export function batches(store: Store): Batches {
  let season = EMPTY_SEASON;
  let seen = 0;
  let id = '';
  const learn = () => {
    const facts = store.facts(seen);
    seen = facts.at(-1)?.seq ?? seen;
    season = foldSeason(facts, season);
    const first = facts.find(({ fact }) => fact.type === 'store-created')?.fact;
    if (first?.type === 'store-created') id = first.store;
  };

  const rulings = (from: Position, limit: number): Batch | null => {
    const facts = store.facts(from.facts);
    if (facts.length === 0) return null;
    const points: Point[] = [];
    let last = from.facts;
    for (const fact of facts) {
      if (points.length === limit) break;
      const point = pointOfRuling(fact, season, id);
      if (point !== null) points.push(point);
      last = fact.seq;
    }
    return { what: 'rulings', points, first: from.facts + 1, last, to: { ...from, facts: last } };
  };

  const readings = (from: Position, limit: number): Batch | null => {
    const rows = store.readingsAfter(from.readings, limit);
    if (rows.length === 0) return null;
    const points = rows.flatMap((row) => pointOfReading(row, id) ?? []);
    const last = rows.at(-1)!.id;
    return { what: 'readings', points, first: rows[0]!.id, last, to: { ...from, readings: last } };
  };

  return {
    next(from, limit) {
      learn();
      return rulings(from, limit) ?? readings(from, limit);
    },
  };
}
