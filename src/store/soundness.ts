import { Refusal } from '../units/refusal.js';
import type { Store } from './store.js';

/** What is wrong with a store as a whole, in a few words; null when nothing is found. Reads all of it. */
export function faultOf(store: Pick<Store, 'damage' | 'brokenAt'>): string | null {
  const damage = store.damage();
  if (damage !== null) return damage.split('\n').at(-1)!;
  const broken = store.brokenAt();
  return broken === null ? null : `fact ${broken} does not follow from the one before`;
}

/** Refuses to log into a store that is damaged: more damage would come of it, and what is logged might not be read again. */
export function refuseDamaged(store: Pick<Store, 'path' | 'damage' | 'brokenAt'>): void {
  const fault = faultOf(store);
  if (fault !== null)
    throw new Refusal(
      `${store.path} is damaged (${fault}), and nothing was written to it: keep the file as it is, and restore a backup under another name or log into a new store (--store); boards keep their scans until then.`,
    );
}
