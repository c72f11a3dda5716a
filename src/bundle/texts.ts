import { createHash } from 'node:crypto';
import type { Link } from '../store/gathered.js';
import type { Row } from './column.js';

/** The keys of a fact that may refer to words of people. */
const REFERENCES = ['who', 'why', 'late', 'text', 'history'] as const;

/** Every reference to words of people in some facts, each once, in order. */
export function referencesIn(lines: Iterable<string>): ReadonlySet<string> {
  const found = new Set<string>();
  for (const line of lines) {
    const fact = JSON.parse(line) as Record<string, unknown>;
    for (const key of REFERENCES) {
      const value = fact[key];
      if (typeof value === 'string' && /^[0-9a-f]{64}$/.test(value)) found.add(value);
    }
  }
  return found;
}

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
