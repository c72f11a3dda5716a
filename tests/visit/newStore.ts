import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach } from 'vitest';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { OPENED } from './situation.js';

/** Gives each test of a file an empty store of its own, in a folder that goes with it. */
export function eachInNewStore(take: (store: Store) => void): void {
  let folder: string;
  let store: Store;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'stillwarm-visit-'));
    store = openStoreToWrite(join(folder, 'x.sqlite'), OPENED);
    take(store);
  });
  afterEach(() => {
    store.close();
    rmSync(folder, { recursive: true });
  });
}
