import { beekeeperFile, labFile, type ReportFile } from '../report/reportFiles.js';
import { type Chain, mergedFacts } from '../store/chains.js';
import type { RecordedFact } from '../store/facts.js';
import type { Link } from '../store/gathered.js';
import { ownReferences } from '../store/references.js';
import type { Records, Store } from '../store/store.js';
import type { UtcMs } from '../units/time.js';
import { foldSeason } from '../visit/season.js';
import type { Tracks } from './tracks.js';

/** What the reports of a bundle are made from, when it is written and when it is checked. */
export interface ToReport {
  readonly chains: readonly {
    readonly store: string;
    readonly links: readonly Link[];
    readonly facts: readonly RecordedFact[];
  }[];
  /** The store that wrote the bundle: its carriers go by their names alone, and its head is on the pages. */
  readonly madeIn: string;
  readonly visits: readonly string[];
  readonly tracks: Tracks;
  readonly text: Store['text'];
  readonly now: UtcMs;
  readonly version: string;
  readonly withPeople: boolean;
}

/**
 * The pages of a bundle, one after the other, for a season has hundreds. They need only what the bundle holds: while a cup is
 * exposed, of which it holds no readings, the page of its visit tells no temperature.
 */
export function* reportsOf(of: ToReport): Generator<ReportFile> {
  const store = asStore(of);
  const season = foldSeason(store.everyFact());
  const visits = of.visits.flatMap((name) =>
    [...season.visits.values()].filter(({ visit }) => visit === name),
  );
  yield beekeeperFile(store, season, visits, of);
  for (const visit of visits) yield labFile(store, season, visit, of);
}

/** The chains and readings of a bundle as the store that wrote it; pages ask a store for nothing else. */
function asStore({ chains, madeIn, tracks, text }: ToReport): Records {
  const ordered = chains.toSorted((a, b) =>
    a.store === madeIn ? -1 : b.store === madeIn ? 1 : a.store < b.store ? -1 : 1,
  );
  const numbered = ordered.map(({ store, facts }, number): Chain => ({ store, number, facts }));
  const [{ links }] = ordered as [ToReport['chains'][number]];
  const last = links.at(-1)!;
  // Each page asks for them.
  const every = mergedFacts(numbered);
  return {
    facts: () => [...ordered[0]!.facts],
    everyFact: () => every,
    chains: () => ordered.map(({ store, links }) => ({ store, links })),
    head: () => ({ count: last.seq, hash: last.hash }),
    track: tracks.track,
    text,
    refersTo: ownReferences((seq) => links.slice(seq)),
  };
}
