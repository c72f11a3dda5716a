import type { Records } from '../store/store.js';

/**
 * Why a store does not have words that a fact refers to: they were kept in it once, or they never were, for the fact came in a
 * bundle without words of people.
 */
export type Missing = 'withdrawn' | 'left-out';

export const MISSING_IN_WORDS: Readonly<Record<Missing, string>> = {
  withdrawn: 'withdrawn',
  'left-out': 'not in this store (left out of the bundle)',
};

/** What refers to it tells: whatever the store's own facts refer to was kept here. */
export const whyMissing = (store: Pick<Records, 'refersTo'>, ref: string): Missing =>
  store.refersTo(ref) ? 'withdrawn' : 'left-out';

/**
 * Words of people, or, where the store does not have them, why.
 *
 * @param what they are, when they are not there, such as "reason"; empty where that is said already
 */
export function keptWords(store: Pick<Records, 'text' | 'refersTo'>, ref: string, what: string): string {
  return store.text(ref) ?? `${what} ${MISSING_IN_WORDS[whyMissing(store, ref)]}`.trimStart();
}

/** What is said of a name that is not there. */
export const A_NAME = 'a name';
export const A_REASON = 'reason';
