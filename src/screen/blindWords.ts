import type { AlarmRow } from './alarms.js';

type Words = Readonly<Partial<Record<AlarmRow['kind'], string>>>;

/** What is to be done about a cup whose usual words say what it is ruled. */
const FOR_RULED: Words = { refill: 'replace it while still here', 'too-long': 'turn now' };

const WARM = 'warm the cabin or move it inwards';
/** The same for those that say how the cup is, or what will be said of it. Where something else is amiss its words stay. */
const FOR_STATES: Words = {
  ...FOR_RULED,
  'cold-soon': WARM,
  cold: WARM,
  'near-cold': WARM,
  hot: 'cool the cabin, keep the sun off',
  'very-hot': 'cool the cabin at once',
};

const inWords =
  (words: Words) =>
  (alarm: AlarmRow): AlarmRow => ({
    ...alarm,
    text: words[alarm.kind] ?? alarm.text,
  });

/** An alarm that tells no ruling: what is printed stays before whoever counts. */
export const withoutRuling = inWords(FOR_RULED);

/** An alarm that tells what to do and nothing of how a cup is: somebody counts just now. */
export const withoutState = inWords(FOR_STATES);
