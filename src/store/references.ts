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

/**
 * Answers whether facts of a chain carry a reference.
 *
 * @param linesAfter the facts after the one of that number, in order; each is looked at once
 */
export function ownReferences(
  linesAfter: (seq: number) => readonly { readonly seq: number; readonly line: string }[],
): (ref: string) => boolean {
  const known = new Set<string>();
  let last = 0;
  return (ref) => {
    if (known.has(ref)) return true;
    const added = linesAfter(last);
    last = added.at(-1)?.seq ?? last;
    for (const each of referencesIn(added.map(({ line }) => line))) known.add(each);
    return known.has(ref);
  };
}
