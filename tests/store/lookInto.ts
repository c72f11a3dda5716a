import { openStoreToRead, type Store } from '../../src/store/store.js';

/** What a look into a store gives while the program may be writing to it; the store is closed afterwards. */
export function lookInto<T>(path: string, look: (opened: Store) => T): T {
  const opened = openStoreToRead(path);
  try {
    return look(opened);
  } finally {
    opened.close();
  }
}
