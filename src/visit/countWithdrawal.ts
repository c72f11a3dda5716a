import { type Cup, countsFrom, type Entry } from './cup.js';

/** Taking back what was entered as read of a cup: it is "not read" again, or what it was before a correction. */

export const isCount = ({ fact }: Entry): boolean =>
  fact.type === 'cup-counted' || fact.type === 'count-corrected';

/** A count that speaks of another which is not there. */
export interface Orphan {
  readonly entry: Entry;
  /** Whether it corrects a number, rather than adds a wash. */
  readonly isCorrection: boolean;
}

/** The first count of these entries that speaks of one that is not among them; null when there is none. */
export function firstOrphan(entries: readonly Entry[]): Orphan | null {
  for (const [index, entry] of entries.entries()) {
    const { fact } = entry;
    if (fact.type !== 'cup-counted' && fact.type !== 'count-corrected') continue;
    const { counts, washes } = countsFrom(entries.slice(0, index));
    if (fact.type === 'count-corrected') {
      const stands = fact.field === 'wash' ? washes[(fact.washNumber ?? 1) - 1] : counts[fact.field];
      if (stands !== fact.old) return { entry, isCorrection: true };
    } else if (fact.washAgain !== undefined && fact.wash === null && washes.length === 0)
      return { entry, isCorrection: false };
  }
  return null;
}

/**
 * What has to be withdrawn for an entry to be: corrections of a count that goes go with it. The newest comes first, the
 * entry itself last.
 */
export function withdrawnWith(cup: Pick<Cup, 'entries'>, entry: Entry): readonly Entry[] {
  const gone = [entry];
  const left = () => cup.entries.filter((each) => !gone.includes(each));
  if (isCount(entry))
    for (let orphan = firstOrphan(left()); orphan?.isCorrection; orphan = firstOrphan(left()))
      gone.push(orphan.entry);
  return gone.toReversed();
}

/** What is read of a cup once an entry is withdrawn. */
export const countsWithout = (cup: Pick<Cup, 'entries'>, entry: Entry): ReturnType<typeof countsFrom> => {
  const gone = withdrawnWith(cup, entry);
  return countsFrom(cup.entries.filter((each) => !gone.includes(each)));
};
