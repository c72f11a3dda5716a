import { canonicalJson } from '../store/chain.js';
import { chainOfNumber } from '../store/chains.js';
import type { Fact, RecordedFact } from '../store/facts.js';
import type { CupLabel } from '../units/ids.js';
import { cupContradiction } from './cupLifecycle.js';
import { foldSeason, type Season } from './season.js';

type Counted = 'tray' | 'wash' | 'bees';

/**
 * Where the facts of several chains speak against each other, each in a sentence: nobody but a person can tell which one is
 * right. Within one chain there is none, for each fact was held against those before it.
 *
 * @param facts merged, see `mergedFacts`
 * @param storeOf names the store whose chain has this number
 */
export function conflicts(facts: readonly RecordedFact[], storeOf: (chain: number) => string): string[] {
  const season = foldSeason(facts);
  const at = ({ seq }: RecordedFact) => `store ${storeOf(chainOfNumber(seq))}`;
  return [
    ...openedOtherwise(facts, at),
    ...loadedTwice(facts, at),
    ...countedOtherwise(facts, at),
    ...strangers(facts, season, at),
    ...impossibleCups(facts, season),
  ];
}

type At = (each: RecordedFact) => string;

/** What two openings of one visit must agree on. */
const agreedOn = ({ yard, zone, active, lot, rules }: Extract<Fact, { type: 'visit-opened' }>) => ({
  yard,
  zone,
  active,
  lot,
  rules,
});

function openedOtherwise(facts: readonly RecordedFact[], at: At): string[] {
  const opened = new Map<string, RecordedFact>();
  return facts.flatMap((each): string[] => {
    if (each.fact.type !== 'visit-opened') return [];
    const first = opened.get(each.fact.visit);
    if (first === undefined) {
      opened.set(each.fact.visit, each);
      return [];
    }
    const [one, other] = [agreedOn(first.fact as typeof each.fact), agreedOn(each.fact)];
    const unlike = (Object.keys(one) as (keyof typeof one)[]).filter(
      (key) => canonicalJson(one[key]) !== canonicalJson(other[key]),
    );
    return unlike.length === 0
      ? []
      : [
          `Visit ${each.fact.visit} was opened with another ${unlike.join(', ')} in ${at(each)} than in ${at(first)}; two visits may not have one name.`,
        ];
  });
}

function loadedTwice(facts: readonly RecordedFact[], at: At): string[] {
  const loaded = new Map<string, RecordedFact>();
  return facts.flatMap((each): string[] => {
    if (each.fact.type !== 'cup-loaded') return [];
    const first = loaded.get(each.fact.cup);
    loaded.set(each.fact.cup, first ?? each);
    return first === undefined
      ? []
      : [
          `Cup ${each.fact.cup} was loaded in ${at(first)} and in ${at(each)}; a label is used once for ever, by one cup.`,
        ];
  });
}

/** Two people read one cup: what stands in each chain, after all corrections, must be the same. */
function countedOtherwise(facts: readonly RecordedFact[], at: At): string[] {
  const read = new Map<string, Map<string, number>>();
  const further = new Map<CupLabel, Set<string>>();
  const withdrawn = new Set(
    facts.flatMap(({ fact }) => (fact.type === 'entry-withdrawn' ? [fact.entry] : [])),
  );
  for (const each of facts) {
    const { fact } = each;
    if (withdrawn.has(each.seq)) continue;
    if (fact.type === 'cup-counted') {
      for (const field of ['tray', 'wash', 'bees'] as const) {
        const value = fact[field];
        if (value !== null) valuesOf(read, fact.cup, field).set(at(each), value);
      }
      if (fact.washAgain !== undefined)
        further.set(fact.cup, new Set([...(further.get(fact.cup) ?? []), at(each)]));
    } else if (fact.type === 'count-corrected' && fact.washNumber === undefined) {
      const values = valuesOf(read, fact.cup, fact.field);
      for (const [store, value] of values) if (value === fact.old) values.set(store, fact.new);
    }
  }
  const unlike = [...read].flatMap(([key, values]) =>
    new Set(values.values()).size < 2
      ? []
      : [
          `The ${key} is ${[...values].map(([store, value]) => `${value} in ${store}`).join(' and ')}; look again, and correct the wrong one in its own store with cup count --why, or take it back with cup withdraw.`,
        ],
  );
  const twice = [...further].flatMap(([cup, stores]) =>
    stores.size < 2
      ? []
      : [
          `A further wash of cup ${cup} was entered in ${[...stores].join(' and in ')}; it would be counted twice.`,
        ],
  );
  return [...unlike, ...twice];
}

function valuesOf(read: Map<string, Map<string, number>>, cup: CupLabel, field: Counted) {
  const key = `${field} count of cup ${cup}`;
  const values = read.get(key) ?? new Map<string, number>();
  read.set(key, values);
  return values;
}

/** Facts about cups and visits that no chain tells the beginning of. */
function strangers(facts: readonly RecordedFact[], season: Season, at: At): string[] {
  const said = new Set<string>();
  for (const each of facts) {
    const { fact } = each;
    if ('cup' in fact && !season.cups.has(fact.cup))
      said.add(
        `The chain of ${at(each)} speaks of cup ${fact.cup}, which none that is here loads; gather the bundle of the vehicle that loaded it as well.`,
      );
    if (fact.type === 'cup-loaded' && !season.visits.has(fact.visit))
      said.add(
        `The chain of ${at(each)} loads cup ${fact.cup} for visit ${fact.visit}, which none that is here opens; gather the bundle that opens it as well.`,
      );
  }
  return [...said];
}

/** Cups that several chains speak of and whose entries do not hang together. */
function impossibleCups(facts: readonly RecordedFact[], season: Season): string[] {
  const chains = new Map<CupLabel, Set<number>>();
  for (const { seq, fact } of facts)
    if ('cup' in fact) chains.set(fact.cup, new Set([...(chains.get(fact.cup) ?? []), chainOfNumber(seq)]));
  return [...chains].flatMap(([label, of]) => {
    const cup = season.cups.get(label);
    const sentence = of.size < 2 || cup === undefined ? null : cupContradiction(season, cup);
    return sentence === null ? [] : [sentence];
  });
}
