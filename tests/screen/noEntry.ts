import type { EntryOptions } from '../../src/screen/session.js';

/** For screens on which nothing is entered: an entry fails the test. */
export const NO_ENTRY: EntryOptions = {
  zone: 'UTC',
  who: null,
  record: () => {
    throw new Error('nothing is entered here');
  },
  resultOf: () => 'no result here',
};
