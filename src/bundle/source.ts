import { type Chain, mergedFacts } from '../store/chains.js';
import type { RecordedFact } from '../store/facts.js';
import type { CupLabel, VisitId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import type { Cup } from '../visit/cup.js';
import { cupsOf, foldSeason, type Season, type Visit } from '../visit/season.js';

/** What the tables of a bundle are made of: some visits, and all facts that may bear on them. */
export interface Source {
  readonly facts: readonly RecordedFact[];
  readonly season: Season;
  /** In order of opening, then by name. */
  readonly visits: readonly Visit[];
  readonly cups: readonly Cup[];
  /** The store whose chain has this number. */
  readonly storeOf: (chain: number) => string;
  readonly isPublic: boolean;
}

/** Numbers chains by the ids of their stores, so that a bundle does not show in which store it was written. */
export function numbered(chains: readonly Omit<Chain, 'number'>[]): Chain[] {
  return chains
    .toSorted((a, b) => (a.store < b.store ? -1 : 1))
    .map((chain, index) => ({ ...chain, number: index + 1 }));
}

/** @throws {Refusal} when a visit is not in the chains */
export function sourceOf(chains: readonly Chain[], visits: readonly string[], isPublic = false): Source {
  return sourceFrom(mergedFacts(chains), storeNames(chains), visits, isPublic);
}

export function sourceFrom(
  facts: readonly RecordedFact[],
  storeOf: Source['storeOf'],
  names: readonly string[],
  isPublic: boolean,
): Source {
  const season = foldSeason(facts);
  const visits = [...new Set(names)]
    .map((name) => {
      const visit = season.visits.get(name as VisitId);
      if (visit === undefined)
        throw new Refusal(
          `There is no visit ${name}; ${season.visits.size > 0 ? `there are ${[...season.visits.keys()].join(', ')}` : 'there is none yet'}.`,
        );
      return visit;
    })
    .sort((a, b) => a.opened - b.opened || (a.visit < b.visit ? -1 : 1));
  const cups = visits.flatMap(({ visit }) =>
    cupsOf(season, visit).sort((a, b) => a.load - b.load || (a.cup < b.cup ? -1 : 1)),
  );
  return { facts, season, visits, cups, storeOf, isPublic };
}

const storeNames = (chains: readonly Chain[]): Source['storeOf'] => {
  const names = new Map(chains.map(({ number, store }) => [number, store]));
  return (number) => names.get(number) ?? '';
};

export const labelsOf = ({ cups }: Source): ReadonlySet<CupLabel> => new Set(cups.map(({ cup }) => cup));
