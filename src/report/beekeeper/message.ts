import type { YardEntry } from '../../../shared/index.js';
import { percentIn, rangeOfHundred } from '../words/figures.js';
import type { Words } from '../words/words.js';
import { armIn, type Findings, firstStep } from './findings.js';

/** What one text message holds. */
export const MESSAGE_LENGTH_MAX = 160;

/** With fewer letters an arm is not told from another. */
const ARM_LETTERS_MIN = 9;

/** The answer of a visit in one sentence or two for a text message, one for each arm. */
export function messagesOf(words: Words, findings: Findings): string[] {
  const { yard, entries, waiting } = findings;
  if (waiting !== null)
    return [fitted((arm) => words.message.waiting(words.part(yard, arm), firstStep([findings])), null)];
  if (entries.length === 0) return [words.message.noStrip(words.part(yard, null))];
  return entries.map((entry) => messageOf(words, findings, entry));
}

function messageOf(words: Words, findings: Findings, entry: YardEntry): string {
  const { yard, rules, entries } = findings;
  const verdict = words.found.verdict(entry.verdict, percentIn(words, rules.line));
  const arm = entries.length > 1 ? armIn(words, findings, entry.arm) : null;
  return fitted((arm) => {
    const part = words.part(yard, arm);
    if (entry.interval === null) return words.message.noRange(part, verdict);
    const [low, high] = rangeOfHundred(words, entry.interval, rules.line);
    return words.message.range(part, low, high, verdict);
  }, arm);
}

/** The arm is shortened in its middle to the room that is left: it begins with the active and ends with the lot. Without room it is left out. */
function fitted(say: (arm: string | null) => string, arm: string | null): string {
  if (arm === null) return say(null);
  const whole = say(arm);
  if (whole.length <= MESSAGE_LENGTH_MAX) return whole;
  const room = MESSAGE_LENGTH_MAX - (whole.length - arm.length);
  // Three dots and not their own sign: that is no letter of a text message's alphabet, and would halve its length.
  if (room < ARM_LETTERS_MIN) return say(null);
  const letters = [...arm];
  const end = Math.floor((room - 3) / 2);
  return say(
    `${letters
      .slice(0, room - 3 - end)
      .join('')
      .trimEnd()}...${letters.slice(-end).join('').trimStart()}`,
  );
}
