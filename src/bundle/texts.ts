import { createHash } from 'node:crypto';
import type { Link } from '../store/gathered.js';
import { referencesIn } from '../store/references.js';
import type { Row } from './column.js';

/** The rows of texts: all that the facts of the chains refer to and the store still keeps. */
export function peopleIn(
  chains: readonly { readonly links: readonly Link[] }[],
  textOf: (ref: string) => { readonly salt: string; readonly text: string } | null,
): Row[] {
  const lines = chains.flatMap(({ links }) => links.map(({ line }) => line));
  return [...referencesIn(lines)].sort().flatMap((ref): Row[] => {
    const kept = textOf(ref);
    return kept === null ? [] : [{ ref, salt: kept.salt, text: kept.text }];
  });
}

/** The reference that a text must have. */
export const referenceOf = (salt: string, text: string): string =>
  createHash('sha256').update(salt).update('\n').update(text).digest('hex');
