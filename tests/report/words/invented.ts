import type { Words } from '../../../src/report/words/words.js';

/**
 * A language of which nobody forgets a word: every word of another one with an x before it. What it does not turn is not
 * in the catalogue.
 */
export function invented(from: Words, locale: string): Words {
  return { ...(turned(from) as Words), locale };
}

function turned(value: unknown): unknown {
  if (typeof value === 'string') return value.replace(/[A-Za-z]{3,}/g, (word) => `x${word}`);
  if (Array.isArray(value)) return value.map(turned);
  if (typeof value === 'function')
    return (...given: unknown[]) => spoken(value as (...given: unknown[]) => string | string[], given);
  return Object.fromEntries(Object.entries(value as object).map(([key, part]) => [key, turned(part)]));
}

/** Calls words with marks for the texts given, so that only the words around them are turned. */
function spoken(
  say: (...given: unknown[]) => string | string[],
  given: readonly unknown[],
): string | string[] {
  const texts: string[] = [];
  const mark = (text: string) => `\ue700${String.fromCharCode(0xe000 + texts.push(text) - 1)}`;
  const marked = (each: unknown): unknown => {
    // Verdicts and rulings choose words and are not told themselves.
    if (typeof each === 'string') return /^[a-z]+(?:-[a-z]+)?$/.test(each) ? each : mark(each);
    if (Array.isArray(each)) return each.map(marked);
    if (each !== null && typeof each === 'object')
      return Object.fromEntries(Object.entries(each).map(([key, part]) => [key, marked(part)]));
    return each;
  };
  const words = turned(say(...given.map(marked))) as string | string[];
  const whole = (text: string) =>
    text.replace(/\ue700(.)/gu, (_whole, sign: string) => texts[sign.charCodeAt(0) - 0xe000]!);
  return typeof words === 'string' ? whole(words) : words.map(whole);
}
