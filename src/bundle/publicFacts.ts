import { rulesToJson } from '../exposure/ruleSet.js';
import { carrierAndStore } from '../store/chains.js';
import type { Fact, RecordedFact } from '../store/facts.js';
import type { CarrierId } from '../units/ids.js';
import { formatInstant, parseInstant, type UtcMs, utcMs } from '../units/time.js';
import type { Visit } from '../visit/season.js';
import type { Source } from './source.js';

/** With what the new names of a public bundle begin. */
export const NEW_NAMES = {
  visit: 'V',
  yard: 'Y',
  cup: 'K',
  colony: 'C',
  group: 'M',
  lot: 'L',
  carrier: 'R',
  rules: 'S',
} as const;

const DAY_MS = 24 * 60 * 60 * 1000;

/**
 * How much earlier all times of a public bundle are: whole days, so that its first visit falls on the first day of its
 * month in UTC. Times between things, and the time of day, stay.
 */
export const shiftOf = ({ visits }: { readonly visits: readonly Pick<Visit, 'opened'>[] }): number =>
  Math.max(0, new Date(visits[0]!.opened).getUTCDate() - 1) * DAY_MS;

/**
 * The facts that a public bundle is made of: those of its visits and of what was measured, with all that a person named
 * (visits, yards, cups, colonies, mother lines, lots, carriers, rule sets) numbered anew in order of appearance, without the
 * words on a piece of strip, and with coarser dates.
 */
export function publicFacts({ facts, visits, cups }: Source, shiftMs: number): RecordedFact[] {
  const visitNames = names(NEW_NAMES.visit);
  const yards = names(NEW_NAMES.yard);
  const labels = names(NEW_NAMES.cup);
  const ruleSets = names(NEW_NAMES.rules);
  const carriers = names(NEW_NAMES.carrier);
  const words = {
    colony: names(NEW_NAMES.colony),
    group: names(NEW_NAMES.group),
    lot: names(NEW_NAMES.lot),
    // Each store has its own; which one it is stays behind the name.
    carrier: (id: string) => {
      const { store } = carrierAndStore(id as CarrierId);
      return store === null ? carriers(id) : `${carriers(id)}@${store}`;
    },
  };
  for (const { visit, yard, rules } of visits) {
    visitNames(visit);
    yards(yard);
    ruleSets(JSON.stringify(rulesToJson(rules)));
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
    ...('lot' in fact && fact.lot !== null ? { lot: words.lot(fact.lot) } : {}),
    ...('carrier' in fact ? { carrier: words.carrier(fact.carrier) } : {}),
    ...(fact.type === 'visit-opened' ? { piece: undefined, rules: rulesOf(fact) } : {}),
    ...(fact.type === 'entry-corrected' ? correction(fact) : {}),
  });
  const rulesOf = ({ visit, rules }: Extract<Fact, { type: 'visit-opened' }>): object => {
    const inForce = visits.find((each) => each.visit === visit)!.rules;
    return { ...rules, name: ruleSets(JSON.stringify(rulesToJson(inForce))), version: 1 };
  };
  const correction = ({ field, old, new: now }: Extract<Fact, { type: 'entry-corrected' }>): object => {
    const each = (value: string | number | null) => {
      if (value === null) return null;
      if (field === 'at') return formatInstant(earlier(parseInstant(String(value))!));
      return field in words ? words[field as keyof typeof words](String(value)) : value;
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
