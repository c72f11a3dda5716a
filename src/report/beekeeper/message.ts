import type { YardEntry } from '../../../shared/index.js';
import { percentIn, rangeOfHundred } from '../words/figures.js';
import type { Words } from '../words/words.js';
import type { Findings } from './findings.js';

/** What one text message holds. */
export const MESSAGE_LENGTH_MAX = 160;

/** The answer of a visit in one sentence or two for a text message, one for each arm. */
export function messagesOf(words: Words, findings: Findings): string[] {
  const { yard, entries, waiting } = findings;
  if (waiting !== null) return [fitted((arm) => words.message.waiting(words.part(yard, arm)), null)];
  if (entries.length === 0) return [words.message.noStrip(words.part(yard, null))];
  return entries.map((entry) => messageOf(words, findings, entry));
}

function messageOf(words: Words, { yard, rules, entries }: Findings, entry: YardEntry): string {
  const verdict = words.found.verdict(entry.verdict, percentIn(words, rules.line));
  const arm = entries.length > 1 ? entry.arm : null;
  return fitted((arm) => {
    const part = words.part(yard, arm);
    if (entry.interval === null) return words.message.noRange(part, verdict);
    const [low, high] = rangeOfHundred(words, entry.interval, rules.line);
    return words.message.range(part, low, high, verdict);
  }, arm);
}

/** The arm is shortened to the room that is left, its end is kept, for there the lot stands; without room it is left out. */
function fitted(say: (arm: string | null) => string, arm: string | null): string {
  if (arm === null) return say(null);
  const whole = say(arm);
  if (whole.length <= MESSAGE_LENGTH_MAX) return whole;
  const room = MESSAGE_LENGTH_MAX - (whole.length - arm.length);
  // Three dots and not their own sign: that is no letter of a text message's alphabet, and would halve its length.
  return room < 6
    ? say(null)
    : say(
        `...${[...arm]
          .slice(3 - room)
          .join('')
          .trimStart()}`,
      );
}
