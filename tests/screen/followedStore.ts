import { afterEach, beforeEach } from 'vitest';
import { probeIn } from '../../src/emulator/scenarios/carriers.js';
import { type Feed, storeFeed } from '../../src/screen/feed.js';
import type { Store } from '../../src/store/store.js';
import { record } from '../../src/visit/record.js';
import {
  at,
  loaded,
  probeAssigned,
  type reading,
  SEVEN,
  seated,
  storeInFolder,
  visitOpened,
} from './invented.js';

/** The probe of slot A:1. */
export const rom = probeIn('A', 1);

/** A store and a feed that follows it, new for each test of the file. */
export function followedStore() {
  let folder: ReturnType<typeof storeInFolder>;
  let feed: Feed;
  beforeEach(() => {
    folder = storeInFolder();
    feed = storeFeed(folder.store);
  });
  afterEach(() => folder.remove());
  return {
    get store(): Store {
      return folder.store;
    },
    get feed(): Feed {
      return feed;
    },
    add: (...rows: ReturnType<typeof reading>[]) =>
      folder.store.transaction(() => folder.store.addReadings(rows)),
    /** Minutes after seven and degrees Celsius of what is held of the probe. */
    held: () => feed.observationsOf(rom).map((o) => [(o.at - SEVEN) / 60_000, o.celsius]),
    seatOneCup: (cup = '260512-01', minute = 0) =>
      record(folder.store, at(600), () => [
        ...(feed.season.visits.size === 0 ? [visitOpened(), probeAssigned('A', 1)] : []),
        loaded(cup, minute),
        seated(cup, 'A', 1, minute + 1),
      ]),
  };
}
