import type { EntryOptions } from '../screen/session.js';
import { openStoreToRead, openStoreToWrite } from '../store/store.js';
import type { UtcMs } from '../units/time.js';
import { localZone } from '../units/zone.js';
import { record } from '../visit/record.js';
import { visitResult } from '../visit/result.js';
import { seasonOf } from '../visit/season.js';
import { resultInWords } from './resultInWords.js';
import { visitOf } from './visit.js';

/** What a screen needs to take entries for a store: each is one transaction, as a command's is. */
export const entryOn = (path: string, who: string | null, now: () => UtcMs): EntryOptions => ({
  zone: localZone(),
  who,
  record(make) {
    const store = openStoreToWrite(path, now());
    try {
      const facts = record(store, now(), (season) => make(store, season));
      const { count } = store.head();
      return { seqs: facts.map((_fact, index) => count - facts.length + 1 + index) };
    } finally {
      store.close();
    }
  },
  resultOf(visit) {
    const store = openStoreToRead(path);
    try {
      const season = seasonOf(store);
      return resultInWords(visitResult(store, season, [visitOf(season, visit)], now()));
    } finally {
      store.close();
    }
  },
});
