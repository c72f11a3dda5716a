import { canonicalJson } from '../store/chain.js';
import { type Chain, mergedFacts } from '../store/chains.js';
import { factFromJson } from '../store/facts.js';
import {
  type GatherableBlock,
  gatherableBlock,
  type Link,
  type ProvenReading,
  refuseOtherChain,
} from '../store/gathered.js';
import type { Store } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import { conflicts } from '../visit/conflicts.js';
import { type Checked, checkBundle } from './check.js';
import { readChain } from './checkFacts.js';
import { readingsByHour } from './checkReadings.js';
import { readTable, valuesOf } from './checkTables.js';
import type { About } from './descriptor.js';
import { sentence } from './finding.js';
import { TEXTS } from './tables.js';

/** A bundle that was checked and may be gathered. */
export interface Checkable {
  readonly folder: string;
  readonly about: About;
}

/** What gathering came to: what was new. */
export interface GatheredBundles {
  readonly visits: readonly string[];
  readonly chains: readonly { readonly store: string; readonly facts: number; readonly newFacts: number }[];
  readonly newReadings: number;
}

/** @throws {Refusal} when a bundle is not as it was written, or is a public one */
export async function checkToGather(folder: string): Promise<Checkable> {
  const checked: Checked = await checkBundle(folder);
  const { about, findings } = checked;
  if (findings.length > 0 || about === null)
    throw new Refusal(
      `${folder} is not as it was written, so nothing was gathered (${sentence(findings[0]!).slice(0, -1)}); bundle check tells all of it.`,
    );
  if (about.isPublic)
    throw new Refusal(`${folder} is a public bundle, which has no facts to gather; ask for the full one.`);
  return { folder, about };
}

/** A checked bundle as a store takes it. */
interface Prepared {
  readonly visits: readonly string[];
  readonly chains: readonly { readonly store: string; readonly links: readonly Link[] }[];
  readonly texts: readonly { readonly ref: string; readonly salt: string; readonly text: string }[];
  readonly blocks: readonly { readonly store: string; readonly block: GatherableBlock }[];
}

/** @param own the store that is to take it, whose own readings it has */
function prepared({ folder, about }: Checkable, own: string): Prepared {
  const blocks: Prepared['blocks'][number][] = [];
  for (const hour of readingsByHour(folder))
    for (const group of grouped(hour.filter((told) => told.store !== own))) {
      const { store, sealed } = group[0]!;
      const block = gatherableBlock(
        sealed,
        group.map(({ reading }) => reading),
      );
      blocks.push({ store, block });
    }
  return {
    visits: about.visits,
    chains: about.chains.map((told) => ({ store: told.store, links: readChain(folder, told).links })),
    texts: about.hasPeople
      ? valuesOf(TEXTS, readTable(folder, TEXTS)).map(({ ref, salt, text }) => ({
          ref: String(ref),
          salt: String(salt),
          text: String(text),
        }))
      : [],
    blocks,
  };
}

/** So often it is looked again what speaks against what, when somebody recorded something meanwhile; then while all others wait. */
const TRIES = 3;

/**
 * Takes what checked bundles hold into a store, beside what it has: chains, readings, words of people. All of it or, with a
 * Refusal that names every conflict, nothing; what is there already is left as it is.
 *
 * A logger and other commands may be at work on the store, and wait for some seconds at most: whatever takes long is done before, and
 * the transaction only puts in what is ready.
 *
 * @param who the reference of who does it
 */
export function gatherBundles(
  store: Store,
  bundles: readonly Checkable[],
  who: () => string,
  now: UtcMs,
): GatheredBundles {
  const own = store.storeId();
  const ready = bundles.map((bundle) => prepared(bundle, own));
  for (let tries = 1; ; tries += 1) {
    const seen = JSON.stringify(store.chainHeads());
    refuseAgainst(store, ready);
    const taken = store.transaction(() => {
      if (JSON.stringify(store.chainHeads()) !== seen) {
        if (tries < TRIES) return null;
        refuseAgainst(store, ready);
      }
      return take(store, own, ready, who, now);
    });
    if (taken !== null) return taken;
  }
}

function take(
  store: Store,
  own: string,
  bundles: readonly Prepared[],
  who: () => string,
  now: UtcMs,
): GatheredBundles {
  const added = new Map<string, number>();
  let newReadings = 0;
  for (const { chains, texts, blocks } of bundles) {
    for (const { store: from, links } of chains)
      added.set(from, (added.get(from) ?? 0) + (from === own ? 0 : store.gatherChain(from, links)));
    for (const { ref, salt, text } of texts) store.takeText(ref, salt, text);
    for (const { store: from, block } of blocks) newReadings += store.gatherBlock(from, block);
  }
  const chains = witness(store, added, who, now);
  return { visits: [...new Set(bundles.flatMap(({ visits }) => visits))], chains, newReadings };
}

/** The store's own chain comes back to it: it has all of that already. */
function refuseNewer({ store, links: known }: Prepared['chains'][number], links: readonly Link[]): void {
  refuseOtherChain(store, new Map(known.map((link) => [link.seq, link])), links);
  if (links.length > known.length)
    throw new Refusal(
      `This store has ${known.length} facts of its own, and a bundle has ${links.length} of them: it is an earlier copy of itself; go on with the newer one.`,
    );
}

/** The readings of one block, or of none, each. */
function grouped(hour: readonly ProvenReading[]): ProvenReading[][] {
  const groups = new Map<string, ProvenReading[]>();
  for (const told of hour) {
    const key = canonicalJson([told.store, told.sealed, told.reading.board, told.reading.boot]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [told]);
    else group.push(told);
  }
  // Sealed ones first: they stay as they are, and what nothing sealed is put around them.
  return [...groups.values()].sort((a, b) => Number(a[0]!.sealed === null) - Number(b[0]!.sealed === null));
}

const CONFLICTS_SHOWN = 5;

/** @throws {Refusal} when a chain is another one than what is known of it, and naming every conflict */
function refuseAgainst(store: Store, bundles: readonly Pick<Prepared, 'chains'>[]): void {
  // Chains are numbered as they came, the store's own with 0.
  const known = store.chains();
  const own = known[0]!;
  for (const { chains } of bundles)
    for (const { store: from, links } of chains) if (from === own.store) refuseNewer(own, links);
  refuseConflicts(known, bundles, 0);
}

/**
 * Holds the chains of some bundles against each other, as gathering them into a store without any entry would.
 *
 * @throws {Refusal} naming every conflict
 */
export function refuseConflictsAmong(bundles: readonly Checkable[]): void {
  const chainsOf = ({ folder, about }: Checkable) => ({
    chains: about.chains.map((told) => ({ store: told.store, links: readChain(folder, told).links })),
  });
  refuseConflicts([], bundles.map(chainsOf), 1);
}

/** @param from the number of the first chain */
function refuseConflicts(
  known: Prepared['chains'],
  bundles: readonly Pick<Prepared, 'chains'>[],
  from: number,
): void {
  const all = new Map(
    known.map(({ store, links }) => [store, new Map(links.map((link) => [link.seq, link]))]),
  );
  for (const { chains } of bundles)
    for (const { store, links } of chains) {
      const there = all.get(store) ?? new Map<number, Link>();
      refuseOtherChain(store, there, links);
      for (const link of links) if (!there.has(link.seq)) there.set(link.seq, link);
      all.set(store, there);
    }
  const numbered = [...all].map(
    ([store, links], index): Chain => ({
      store,
      number: from + index,
      facts: [...links.values()].map(({ line }) => factFromJson(line)),
    }),
  );
  refuseFound(conflicts(mergedFacts(numbered), (chain) => numbered[chain - from]?.store ?? 'another'));
}

function refuseFound(found: readonly string[]): void {
  if (found.length === 0) return;
  const more = found.length - CONFLICTS_SHOWN;
  throw new Refusal(
    [
      `Nothing was gathered, for ${found.length === 1 ? 'there is a conflict' : `there are ${found.length} conflicts`}:`,
      ...found.slice(0, CONFLICTS_SHOWN),
      ...(more > 0 ? [`... and ${more} more.`] : []),
    ].join('\n'),
  );
}

/** Puts on record how far each gathered chain had come, where that is new. */
function witness(
  store: Store,
  added: ReadonlyMap<string, number>,
  who: () => string,
  now: UtcMs,
): GatheredBundles['chains'] {
  const heads = new Map(store.chainHeads().map((head) => [head.store, head]));
  const grown = [...added].filter(([, newFacts]) => newFacts > 0);
  const ref = grown.length === 0 ? '' : who();
  for (const [id] of grown) {
    const { facts, head } = heads.get(id)!;
    store.append(now, { type: 'chain-gathered', store: id, facts, head, who: ref, at: now });
  }
  return [...added].map(([id, newFacts]) => ({ store: id, facts: heads.get(id)!.facts, newFacts }));
}
