import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';

/** The hash before the first fact. */
export const CHAIN_ORIGIN = '0'.repeat(64);

/** RFC 8785 canonical JSON of plain data; throws on what JSON cannot hold. */
export function canonicalJson(value: unknown): string {
  const text = canonicalize(value);
  if (text === undefined) throw new TypeError('not representable as JSON');
  return text;
}

/** SHA-256 over the previous hash (lower-case hex), LF, and the canonical line; lower-case hex. */
export function chainHash(previous: string, line: string): string {
  return createHash('sha256').update(previous).update('\n').update(line).digest('hex');
}

/** Where a chain breaks: the first line whose hash does not follow, or null when all do. */
export function firstBreak(rows: Iterable<{ line: string; hash: string; seq: number }>): number | null {
  let previous = CHAIN_ORIGIN;
  let expected = 1;
  for (const { line, hash, seq } of rows) {
    if (seq !== expected || chainHash(previous, line) !== hash) return seq;
    previous = hash;
    expected += 1;
  }
  return null;
}
