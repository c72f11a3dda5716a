import type { Store } from '../store/store.js';
import type { BoardId } from '../units/ids.js';

/** The number of the next boot of a board that does not count its boots itself: one above all on record. */
export function nextBoot(store: Store, board: BoardId): number {
  const told = store
    .facts()
    .flatMap(({ fact }) => (fact.type === 'board-booted' && fact.board === board ? [fact.boot] : []));
  return 1 + Math.max(0, ...told, ...store.bootsOf(board));
}
