import { join } from 'node:path';
import { afterEach } from 'vitest';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { OPENED } from './situation.js';

/** Gives each test an empty store of its own, in a folder that goes with it. */
export function eachInNewStore(take: (store: Store) => void, madeAt = OPENED): void {
  let store: Store;
  eachInNewFolder((folder) => {
    store = openStoreToWrite(join(folder, 'x.sqlite'), madeAt);
    take(store);
  });
  afterEach(() => store.close());
}
