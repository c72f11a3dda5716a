import type { Fact, RecordedFact } from '../store/facts.js';
import { formatInstant, parseInstant, type UtcMs, utcMs } from '../units/time.js';
import type { Source } from './source.js';

const DAY_MS = 24 * 60 * 60 * 1000;

/**
 * How much earlier all times of a public bundle are: whole days, so that its first visit falls on the first day of its
 * month in UTC. Times between things, and the time of day, stay.
 */
export const shiftOf = ({ visits }: Pick<Source, 'visits'>): number =>
  Math.max(0, new Date(visits[0]!.opened).getUTCDate() - 1) * DAY_MS;

/**
 * The facts that a public bundle is made of: those of its visits and of what was measured, with visits, yards, cups,
 * colonies and mother lines numbered anew in order of appearance, and with coarser dates.
 */
export function publicFacts({ facts, visits, cups }: Source, shiftMs: number): RecordedFact[] {
  const [visitNames, yards, labels] = [names('V'), names('Y'), names('K')];
  const words = { colony: names('C'), group: names('M') };
  for (const { visit, yard } of visits) {
    visitNames(visit);
    yards(yard);
  }
  for (const { cup } of cups) labels(cup);
  const wanted = new Set<string>([...visits.map(({ visit }) => visit), ...cups.map(({ cup }) => cup)]);
  const isWanted = (fact: Fact) =>
    'cup' in fact ? wanted.has(fact.cup) : 'visit' in fact ? wanted.has(fact.visit) : true;
  const earlier = (at: UtcMs): UtcMs => utcMs(at - shiftMs);
  const renamed = (fact: Fact): object => ({
    ...('visit' in fact ? { visit: visitNames(fact.visit) } : {}),
    ...('yard' in fact ? { yard: yards(fact.yard) } : {}),
    ...('cup' in fact ? { cup: labels(fact.cup) } : {}),
    ...('replacedBy' in fact && fact.replacedBy !== undefined ? { replacedBy: labels(fact.replacedBy) } : {}),
    ...('colony' in fact && fact.colony !== null ? { colony: words.colony(fact.colony) } : {}),
    ...('group' in fact && fact.group !== null ? { group: words.group(fact.group) } : {}),
    ...(fact.type === 'entry-corrected' ? correction(fact) : {}),
  });
  const correction = ({ field, old, new: now }: Extract<Fact, { type: 'entry-corrected' }>): object => {
    const each = (value: string | number | null) => {
      if (value === null) return null;
      if (field === 'at') return formatInstant(earlier(parseInstant(String(value))!));
      return field === 'colony' || field === 'group' ? words[field](String(value)) : value;
    };
    return { old: each(old), new: each(now) };
  };
  return facts
    .filter(({ fact }) => isWanted(fact))
    .map(({ seq, recorded, fact }) => ({
      seq,
      recorded: earlier(recorded),
      fact: { ...fact, ...renamed(fact), at: earlier(fact.at) } as Fact,
    }));
}

/** Gives each text a name of its own, the same whenever it comes again. */
function names(letter: string): (text: string) => string {
  const given = new Map<string, string>();
  return (text) => {
    const known = given.get(text) ?? `${letter}${given.size + 1}`;
    given.set(text, known);
    return known;
  };
}
