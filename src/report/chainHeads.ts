import type { Records } from '../store/store.js';

/** One chain of facts as it is printed: held against the store or a bundle later, its head shows that no fact was changed. */
export interface ChainHead {
  readonly store: string;
  readonly count: number;
  readonly hash: string;
}

/** The store's own chain first, then those that were gathered. */
export const chainHeads = (store: Pick<Records, 'chains'>): ChainHead[] =>
  store
    .chains()
    .map(({ store: id, links }) => ({ store: id, count: links.length, hash: links.at(-1)?.hash ?? '' }));
