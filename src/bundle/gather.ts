import { canonicalJson } from '../store/chain.js';
import { type Chain, mergedFacts } from '../store/chains.js';
import { factFromJson } from '../store/facts.js';
import { type Link, type ProvenReading, refuseOtherChain } from '../store/gathered.js';
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

/**
 * Takes what checked bundles hold into a store, beside what it has: chains, readings, words of people. All of it or, with a
 * Refusal that names every conflict, nothing; what is there already is left as it is.
 *
 * @param who the reference of who does it
 */
export function gatherBundles(
  store: Store,
  bundles: readonly Checkable[],
  who: () => string,
  now: UtcMs,
): GatheredBundles {
  return store.transaction(() => {
    const own = store.storeId();
    const added = new Map<string, number>();
    let newReadings = 0;
    for (const { folder, about } of bundles) {
      for (const told of about.chains) {
        const { links } = readChain(folder, told);
        const isNew = told.store === own ? ownChain(store, links) : store.gatherChain(told.store, links);
        added.set(told.store, (added.get(told.store) ?? 0) + isNew);
      }
      if (about.hasPeople)
        for (const { ref, salt, text } of valuesOf(TEXTS, readTable(folder, TEXTS)))
          store.takeText(String(ref), String(salt), String(text));
      for (const hour of readingsByHour(folder))
        for (const group of grouped(hour.filter((told) => told.store !== own)))
          newReadings += store.gatherReadings(
            group[0]!.store,
            group[0]!.sealed,
            group.map(({ reading }) => reading),
          );
    }
    refuseConflicts(store);
    const chains = witness(store, own, added, who, now);
    return { visits: [...new Set(bundles.flatMap(({ about }) => about.visits))], chains, newReadings };
  });
}

/** The store's own chain comes back to it: it has all of that already. */
function ownChain(store: Store, links: readonly Link[]): 0 {
  const known = store.chains()[0]!.links;
  refuseOtherChain(store.storeId(), new Map(known.map((link) => [link.seq, link])), links);
  if (links.length > known.length)
    throw new Refusal(
      `This store has ${known.length} facts of its own, and a bundle has ${links.length} of them: it is an earlier copy of itself; go on with the newer one.`,
    );
  return 0;
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

function refuseConflicts(store: Store): void {
  // Chains are numbered as they came, the store's own with 0.
  const stores = store.chains().map(({ store: id }) => id);
  refuseFound(conflicts(store.everyFact(), (chain) => stores[chain] ?? 'another'));
}

/**
 * Holds the chains of some bundles against each other, as gathering them into a store without any entry would.
 *
 * @throws {Refusal} naming every conflict
 */
export function refuseConflictsAmong(bundles: readonly Checkable[]): void {
  const chains = new Map<string, Map<number, Link>>();
  for (const { folder, about } of bundles)
    for (const told of about.chains) {
      const { links } = readChain(folder, told);
      const known = chains.get(told.store) ?? new Map<number, Link>();
      refuseOtherChain(told.store, known, links);
      for (const link of links) known.set(link.seq, link);
      chains.set(told.store, known);
    }
  const numbered = [...chains].map(
    ([store, links], index): Chain => ({
      store,
      number: index + 1,
      facts: [...links.values()].map(({ line }) => factFromJson(line)),
    }),
  );
  refuseFound(conflicts(mergedFacts(numbered), (chain) => numbered[chain - 1]?.store ?? 'another'));
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
  own: string,
  added: ReadonlyMap<string, number>,
  who: () => string,
  now: UtcMs,
): GatheredBundles['chains'] {
  const heads = new Map(store.chains().map(({ store: id, links }) => [id, links]));
  const grown = [...added].filter(([, newFacts]) => newFacts > 0);
  const ref = grown.length === 0 ? '' : who();
  for (const [id] of grown) {
    const links = heads.get(id)!;
    store.append(now, {
      type: 'chain-gathered',
      store: id,
      facts: links.length,
      head: links.at(-1)!.hash,
      who: ref,
      at: now,
    });
  }
  return [...added].map(([id, newFacts]) => ({
    store: id,
    facts: heads.get(id)!.length,
    newFacts: id === own ? 0 : newFacts,
  }));
}
