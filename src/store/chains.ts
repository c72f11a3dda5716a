import type { CarrierId } from '../units/ids.js';
import type { Fact, RecordedFact } from './facts.js';

/** The facts of one store: its chain, by the id that its first fact gave it. */
export interface Chain {
  readonly store: string;
  /** What its facts' numbers are counted on from, so that no two facts of several chains have the same; 0 for the store's own. */
  readonly number: number;
  readonly facts: readonly RecordedFact[];
}

/** A chain has fewer facts than this, and a store fewer chains than 2^20: both together stay a whole number. */
const FACTS_MAX = 2 ** 32;
/** Between a carrier's name and the store that calls it so: no name has it. */
const OF = '@';

/** The number of a fact among those of several chains. */
export const numberedIn = (chain: number, seq: number): number => chain * FACTS_MAX + seq;
export const chainOfNumber = (number: number): number => Math.floor(number / FACTS_MAX);
export const seqOfNumber = (number: number): number => number % FACTS_MAX;

/** Between the number of a gathered chain and that of a fact in it, as people type them. */
const IN = '.';

/** The number of a fact as people type it: 31 in the store's own chain, 2.31 in the second one that was gathered. */
export function factName(number: number): string {
  const chain = chainOfNumber(number);
  return chain === 0 ? String(number) : `${chain}${IN}${seqOfNumber(number)}`;
}

/** Two vehicles may have a carrier of the same name each. */
const carrierIn = (store: string, carrier: string): CarrierId => `${carrier}${OF}${store}` as CarrierId;

/** The name painted on a carrier, and the store that calls it so; null for the store at hand. */
export function carrierAndStore(id: CarrierId): { readonly carrier: string; readonly store: string | null } {
  const at = id.indexOf(OF);
  return at < 0 ? { carrier: id, store: null } : { carrier: id.slice(0, at), store: id.slice(at + 1) };
}

/**
 * The facts of several chains as those of one: in the order in which they were recorded, each chain in its own order, and
 * none before what it speaks of. Numbers, and carriers of other stores, are made their own.
 */
export function mergedFacts(chains: readonly Chain[]): RecordedFact[] {
  const only = chains.length === 1 ? chains[0]! : null;
  if (only?.number === 0) return [...only.facts];
  const numbers = new Map(chains.map(({ store, number }) => [store, number]));
  const heads = chains
    .toSorted((a, b) => (a.store < b.store ? -1 : 1))
    .map((chain) => ({ chain, facts: chain.facts.map((each) => inChain(each, chain, numbers)), next: 0 }));
  const loadable = new Set(
    heads.flatMap(({ facts }) => facts.flatMap(({ fact }) => (fact.type === 'cup-loaded' ? [fact.cup] : []))),
  );
  const loaded = new Set<string>();
  const given = new Set<number>();
  const waits = ({ fact }: RecordedFact): boolean => {
    if ('entry' in fact && numbers.size > 1 && !given.has(fact.entry) && isThere(heads, fact.entry))
      return true;
    return 'cup' in fact && fact.type !== 'cup-loaded' && loadable.has(fact.cup) && !loaded.has(fact.cup);
  };
  const merged: RecordedFact[] = [];
  for (;;) {
    const open = heads.filter(({ facts, next }) => next < facts.length);
    if (open.length === 0) return merged;
    const ready = open.filter(({ facts, next }) => !waits(facts[next]!));
    const head = (ready.length > 0 ? ready : open).reduce((first, each) =>
      each.facts[each.next]!.recorded < first.facts[first.next]!.recorded ? each : first,
    );
    const fact = head.facts[head.next]!;
    head.next += 1;
    if (fact.fact.type === 'cup-loaded') loaded.add(fact.fact.cup);
    given.add(fact.seq);
    merged.push(fact);
  }
}

function isThere(heads: readonly { chain: Chain }[], number: number): boolean {
  const head = heads.find(({ chain }) => chain.number === chainOfNumber(number));
  return head?.chain.facts.some(({ seq }) => seq === seqOfNumber(number)) ?? false;
}

/** A fact of a chain with numbers and carriers that several chains can share. */
function inChain(
  { seq, recorded, fact }: RecordedFact,
  chain: Chain,
  numbers: ReadonlyMap<string, number>,
): RecordedFact {
  return { seq: numberedIn(chain.number, seq), recorded, fact: scoped(fact, chain, numbers) };
}

function scoped(fact: Fact, chain: Chain, numbers: ReadonlyMap<string, number>): Fact {
  const own = chain.number === 0;
  const carried =
    'carrier' in fact && !own ? { ...fact, carrier: carrierIn(chain.store, fact.carrier) } : fact;
  if (!('entry' in carried)) return carried;
  const { chain: store = chain.store, ...rest } = carried;
  const number = numbers.get(store);
  // The chain that it speaks of is not here: no entry has this number.
  const entry = number === undefined ? -1 : numberedIn(number, carried.entry);
  if (rest.type !== 'entry-corrected' || rest.field !== 'carrier' || (number ?? 0) === 0)
    return { ...rest, entry } as Fact;
  const named = (value: string | number | null) => (value === null ? null : carrierIn(store, String(value)));
  return { ...rest, entry, old: named(rest.old), new: named(rest.new) } as Fact;
}

/**
 * A fact as it goes into the store's own chain: what it says of another chain's entry names that chain.
 *
 * @param storeOf the id of a gathered store by its number
 */
export function toOwnChain(fact: Fact, storeOf: (number: number) => string): Fact {
  if (!('entry' in fact) || chainOfNumber(fact.entry) === 0) return fact;
  const named = (value: string | number | null) =>
    value === null ? null : carrierAndStore(String(value) as CarrierId).carrier;
  const moved = fact.type === 'entry-corrected' && fact.field === 'carrier';
  return {
    ...fact,
    ...(moved ? { old: named(fact.old), new: named(fact.new) } : {}),
    entry: seqOfNumber(fact.entry),
    chain: storeOf(chainOfNumber(fact.entry)),
  } as Fact;
}
