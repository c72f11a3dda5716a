import type { RecordedFact } from '../store/facts.js';
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
  /** The facts after a position, up to what was seen. */
  let waiting: RecordedFact[] = [];
  let waitsFrom = 0;
  /** Takes in what is new, and what lies after a position that was gone back to; no fact is read twice otherwise. */
  const learn = (from: number) => {
    const isBack = from < waitsFrom;
    const read = store.facts(isBack ? from : seen);
    const news = isBack ? read.filter(({ seq }) => seq > seen) : read;
    waiting = [...(isBack ? [] : waiting), ...read].filter(({ seq }) => seq > from);
    waitsFrom = from;
    seen = news.at(-1)?.seq ?? seen;
    season = foldSeason(news, season);
    const first = news.find(({ fact }) => fact.type === 'store-created')?.fact;
    if (first?.type === 'store-created') id = first.store;
  };

  const rulings = (from: Position, limit: number): Batch | null => {
    if (waiting.length === 0) return null;
    const points: Point[] = [];
    let last = from.facts;
    for (const fact of waiting) {
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
      learn(from.facts);
      return rulings(from, limit) ?? readings(from, limit);
    },
  };
}
