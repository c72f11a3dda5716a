import { X509Certificate } from 'node:crypto';
import { Refusal } from '../units/refusal.js';

const CERTIFICATES = /-----BEGIN ((?:X509 |TRUSTED )?CERTIFICATE)-----[\s\S]*?-----END \1-----/g;

/**
 * The text of a file of certificate authorities. Whoever trusts it takes what it can of it without a word: of a key, or of a page
 * that came instead, nothing, so that no server is trusted; and of a list nothing from the first bad one on.
 *
 * @throws {Refusal} when there is no certificate in it, or one that cannot be read
 */
export function authoritiesIn(text: string, file: string): string {
  const found = text.match(CERTIFICATES) ?? [];
  if (found.length === 0)
    throw new Refusal(
      `${file} holds no certificate; name a PEM file of certificate authorities with mirror setup --ca.`,
    );
  for (const [index, each] of found.entries()) {
    try {
      new X509Certificate(each);
    } catch {
      throw new Refusal(
        `Certificate ${index + 1} of ${found.length} in ${file} cannot be read; take it out, or name another file with mirror setup --ca.`,
      );
    }
  }
  return text;
}
