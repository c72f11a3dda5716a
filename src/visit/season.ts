import type { RuleSet } from '../exposure/ruleSet.js';
import { parseRules } from '../exposure/ruleSet.js';
import { chainOfNumber } from '../store/chains.js';
import type { RecordedFact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId, CarrierId, CupLabel, RomId, VisitId, YardCode } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { type Commissioned, commissionedBy, NOT_COMMISSIONED } from './commissioned.js';
import { type Cup, cupWith, isOfCup } from './cup.js';

/**
 * What the facts of a store amount to: visits, cups, carriers. Derived by folding the facts in order and
 * never kept; the facts are the truth.
 */
export interface Season {
  readonly visits: ReadonlyMap<VisitId, Visit>;
  readonly cups: ReadonlyMap<CupLabel, Cup>;
  readonly carriers: ReadonlyMap<CarrierId, Carrier>;
  /** In order of time. */
  readonly assignments: readonly Assignment[];
  readonly commissioned: Commissioned;
}

export interface Visit {
  readonly visit: VisitId;
  readonly yard: YardCode;
  readonly zone: string;
  readonly opened: UtcMs;
  readonly closed: UtcMs | null;
  readonly active: string | null;
  readonly lot: string | null;
  /** Those of all its openings together; null when none told a number. */
  readonly declaredCups: number | null;
  readonly openings: readonly Opening[];
  readonly rules: RuleSet;
}

/**
 * The opening of a visit in one store. Two vehicles may work one visit: each opens it in its own store, in the same words,
 * and says how many cups it plans itself.
 */
export interface Opening {
  /** The number of the store's chain. */
  readonly chain: number;
  readonly at: UtcMs;
  readonly declaredCups: number | null;
}

export interface Carrier {
  readonly carrier: CarrierId;
  readonly board: BoardId | null;
  /** When the board was bound to it, and the reference of who said so; null when nobody did, or no name was kept. */
  readonly bound: { readonly at: UtcMs; readonly who: string | null } | null;
  /** By slot number, which probe it had since when, in order of time; null when that went elsewhere. */
  readonly slots: ReadonlyMap<number, readonly { readonly rom: RomId | null; readonly from: UtcMs }[]>;
}

/** A person's word that a probe sits in a slot. */
export interface Assignment {
  /** The number of its fact. */
  readonly seq: number;
  readonly carrier: CarrierId;
  readonly slot: number;
  readonly rom: RomId;
  readonly at: UtcMs;
}

export const EMPTY_SEASON: Season = {
  visits: new Map(),
  cups: new Map(),
  carriers: new Map(),
  assignments: [],
  commissioned: NOT_COMMISSIONED,
};

/** The season that the facts tell. Facts have been checked when they were recorded. */
export function foldSeason(facts: Iterable<RecordedFact>, from: Season = EMPTY_SEASON): Season {
  const season = {
    visits: new Map(from.visits),
    cups: new Map(from.cups),
    carriers: new Map(from.carriers),
    assignments: from.assignments,
    commissioned: from.commissioned,
  };
  for (const each of facts) apply(season, each);
  return season;
}

/** The season of a store and of all that was gathered into it. */
export const seasonOf = (store: Pick<Store, 'everyFact'>): Season => foldSeason(store.everyFact());

interface Folding {
  readonly visits: Map<VisitId, Visit>;
  readonly cups: Map<CupLabel, Cup>;
  readonly carriers: Map<CarrierId, Carrier>;
  assignments: readonly Assignment[];
  commissioned: Commissioned;
}

function apply(season: Folding, { seq, recorded, fact }: RecordedFact): void {
  const carrier = (id: CarrierId): Carrier =>
    season.carriers.get(id) ?? { carrier: id, board: null, bound: null, slots: new Map() };

  if (isOfCup(fact)) {
    const cup = cupWith(season.cups.get(fact.cup), { seq, recorded, fact });
    // A cup that is not known was loaded in the chain of another store, which whoever folds was not given.
    if (cup) season.cups.set(fact.cup, cup);
    return;
  }
  switch (fact.type) {
    case 'visit-opened': {
      const { visit, at, declaredCups } = fact;
      const opening = { chain: chainOfNumber(seq), at, declaredCups };
      const known = season.visits.get(visit);
      season.visits.set(
        visit,
        known === undefined
          ? {
              visit,
              yard: fact.yard,
              zone: fact.zone,
              opened: at,
              closed: null,
              active: fact.active,
              lot: fact.lot,
              declaredCups,
              openings: [opening],
              rules: parseRules(fact.rules, `visit ${visit}`),
            }
          : {
              ...known,
              declaredCups:
                declaredCups === null ? known.declaredCups : (known.declaredCups ?? 0) + declaredCups,
              openings: [...known.openings, opening],
            },
      );
      return;
    }
    case 'visit-closed': {
      const visit = season.visits.get(fact.visit);
      if (visit) season.visits.set(fact.visit, { ...visit, closed: fact.at });
      return;
    }
    case 'board-bound':
      season.carriers.set(fact.carrier, {
        ...carrier(fact.carrier),
        board: fact.board,
        bound: { at: fact.at, who: fact.who ?? null },
      });
      return;
    case 'probe-assigned': {
      const { carrier: id, slot, rom, at } = fact;
      const before = season.assignments.filter((each) => each.at <= at);
      const later = season.assignments.filter((each) => each.at > at);
      season.assignments = [...before, { seq, carrier: id, slot, rom, at }, ...later];
      season.carriers.set(id, carrier(id));
      placeProbes(season);
      return;
    }
    case 'ice-checked':
    case 'placement-mapped':
    case 'lag-measured':
    case 'probes-found':
      season.commissioned = commissionedBy(season.commissioned, { seq, fact });
      return;
    case 'measurement-withdrawn':
      season.commissioned = commissionedBy(season.commissioned, { seq, fact });
      if (fact.of !== 'probe-assigned') return;
      season.assignments = season.assignments.filter((each) => each.seq !== fact.entry);
      placeProbes(season);
      return;
    case 'store-created':
    case 'board-booted':
    case 'boot-read':
    case 'clock-compared':
    case 'clock-disproved':
    case 'mark-stamped':
    case 'board-warned':
    case 'pages-lost':
    case 'nothing-stored':
    case 'hour-sealed':
    case 'mirror-refused':
    case 'chain-gathered':
      return;
  }
}

function placeProbes(season: Folding): void {
  for (const known of season.carriers.values())
    season.carriers.set(known.carrier, { ...known, slots: slotsBy(season.assignments, known.carrier) });
}

/** Which probe each slot of a carrier had since when: a probe that is assigned to a slot leaves its old one. */
function slotsBy(assignments: readonly Assignment[], id: CarrierId): Carrier['slots'] {
  const slots = new Map<number, { rom: RomId | null; from: UtcMs }[]>();
  for (const { carrier, slot, rom, at } of assignments) {
    for (const [number, history] of slots)
      if (history.at(-1)?.rom === rom && !(carrier === id && number === slot))
        history.push({ rom: null, from: at });
    if (carrier !== id) continue;
    const history = slots.get(slot) ?? [];
    history.push({ rom, from: at });
    slots.set(slot, history);
  }
  return slots;
}

/** The visits that are open, in the order in which they were opened. */
export const openVisits = ({ visits }: Pick<Season, 'visits'>): Visit[] =>
  [...visits.values()].filter(({ closed }) => closed === null);

/** The cups of a visit in the order they were loaded. */
export const cupsOf = (season: Season, visit: VisitId): Cup[] =>
  [...season.cups.values()].filter((cup) => cup.visit === visit);
