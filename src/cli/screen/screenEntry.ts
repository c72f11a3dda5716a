import { createRequire } from 'node:module';
import type { ReadyCup } from '../../plan/planned.js';
import type { EntryOptions } from '../../screen/session.js';
import { openStoreToWrite } from '../../store/store.js';
import type { UtcMs } from '../../units/time.js';
import { localZone } from '../../units/zone.js';
import { record } from '../../visit/record.js';

/** The statistics and their libraries take 17 MB; they are loaded when a result is asked for, and that has to be at once. */
const inWords = () =>
  createRequire(import.meta.url)('../judging/visitInWords.js') as typeof import('../judging/visitInWords.js');

/** What a screen needs to take entries for a store: each is one transaction, as a command's is. */
export const entryOn = (
  path: string,
  who: string | null,
  now: () => UtcMs,
  plan: readonly ReadyCup[] = [],
): EntryOptions => ({
  plan,
  zone: localZone(),
  who,
  record(make, tell) {
    const store = openStoreToWrite(path, now());
    try {
      const facts = record(store, now(), (season) => make(store, season), tell);
      const { count } = store.head();
      return { seqs: facts.map((_fact, index) => count - facts.length + 1 + index) };
    } finally {
      store.close();
    }
  },
  resultOf: (visit) => inWords().visitInWords(path, visit, now()),
});
