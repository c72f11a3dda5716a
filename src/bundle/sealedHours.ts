import type { RecordedFact } from '../store/facts.js';

/** A sealed block as a chain tells of it. */
export interface SealedBlock {
  readonly hash: string;
  readonly readings: number;
  /** In words. */
  readonly by: string;
}

/** Every sealed block that the chains tell of, by what it is of. */
export type SealedHours = ReadonlyMap<string, SealedBlock>;

export const blockKey = (
  rom: string,
  hour: number,
  store: string,
  board: string,
  boot: number,
  sealed: number,
): string => `${rom} ${hour} ${store} ${board} ${boot} ${sealed}`;

export function sealedHours(
  chains: readonly { readonly store: string; readonly facts: readonly RecordedFact[] | null }[],
): SealedHours {
  const told = new Map<string, SealedBlock>();
  for (const { store, facts } of chains)
    for (const { seq, fact } of facts ?? [])
      if (fact.type === 'hour-sealed')
        for (const { rom, readings, hash } of fact.blocks)
          told.set(blockKey(rom, fact.at, store, fact.board, fact.boot, fact.supplement), {
            hash,
            readings,
            by: `fact ${seq} of store ${store}`,
          });
  return told;
}
