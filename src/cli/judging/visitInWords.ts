import { openStoreToRead } from '../../store/store.js';
import type { UtcMs } from '../../units/time.js';
import { visitResult } from '../../visit/result.js';
import { foldSeason } from '../../visit/season.js';
import { visitOf } from '../visit.js';
import { resultInWords } from './resultInWords.js';

/** What came out of one visit, for people. */
export function visitInWords(path: string, visit: string, now: UtcMs): string {
  const store = openStoreToRead(path);
  try {
    const season = foldSeason(store.facts());
    return resultInWords(visitResult(store, season, [visitOf(season, visit)], now));
  } finally {
    store.close();
  }
}
