import type { RuleSet } from '../exposure/ruleSet.js';
import { parseRules } from '../exposure/ruleSet.js';
import type { Ruling } from '../exposure/types.js';
import type { Fact, RecordedFact } from '../store/facts.js';
import type { BoardId, CarrierId, CupLabel, RomId, VisitId, YardCode } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { type Commissioned, commissionedBy, NOT_COMMISSIONED } from './commissioned.js';

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
  readonly declaredCups: number | null;
  readonly rules: RuleSet;
}

export interface Cup {
  readonly cup: CupLabel;
  readonly visit: VisitId;
  readonly kind: 'strip' | 'no-strip';
  readonly active: string | null;
  readonly lot: string | null;
  readonly colony: string | null;
  readonly group: string | null;
  readonly load: UtcMs;
  readonly turn: UtcMs | null;
  readonly places: readonly Place[];
  /** `why` is the reference of a text. */
  readonly spoiled: { readonly at: UtcMs; readonly why: string; readonly afterCounts: boolean } | null;
  readonly counts: Counts;
  /** What the rules said whenever it was recorded, in order. */
  readonly ruled: readonly RecordedRuling[];
  readonly overruled: (RecordedRuling & { readonly why: string }) | null;
  /** When the latest of its facts happened; the next one must not be earlier. */
  readonly latest: UtcMs;
}

/** A stretch in one slot; `to` is null while the cup is still there. */
export interface Place {
  readonly carrier: CarrierId;
  readonly slot: number;
  readonly from: UtcMs;
  readonly to: UtcMs | null;
}

/** A ruling as it was recorded, by rule or by a person. */
export interface RecordedRuling {
  readonly ruling: Ruling;
  readonly at: UtcMs;
  /** Whether mites had been counted by then. */
  readonly afterCounts: boolean;
}

/** What has been read; null is "not read", never 0. */
export interface Counts {
  readonly tray: number | null;
  readonly wash: number | null;
  readonly bees: number | null;
}

export interface Carrier {
  readonly carrier: CarrierId;
  readonly board: BoardId | null;
  /** By slot number, which probe it had since when, in order of time; null when that went elsewhere. */
  readonly slots: ReadonlyMap<number, readonly { readonly rom: RomId | null; readonly from: UtcMs }[]>;
}

/** A person's word that a probe sits in a slot. */
export interface Assignment {
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
  for (const { fact } of facts) apply(season, fact);
  return season;
}

interface Folding {
  readonly visits: Map<VisitId, Visit>;
  readonly cups: Map<CupLabel, Cup>;
  readonly carriers: Map<CarrierId, Carrier>;
  assignments: readonly Assignment[];
  commissioned: Commissioned;
}

function apply(season: Folding, fact: Fact): void {
  const change = (label: CupLabel, next: (cup: Cup) => Partial<Cup>) => {
    const cup = season.cups.get(label);
    if (!cup) throw new Error(`the facts speak of cup ${label} before it was loaded`);
    season.cups.set(label, { ...cup, ...next(cup), latest: fact.at });
  };
  const ended = (cup: Cup): readonly Place[] =>
    cup.places.map((place) => (place.to === null ? { ...place, to: fact.at } : place));
  const carrier = (id: CarrierId): Carrier =>
    season.carriers.get(id) ?? { carrier: id, board: null, slots: new Map() };

  switch (fact.type) {
    case 'visit-opened':
      season.visits.set(fact.visit, {
        visit: fact.visit,
        yard: fact.yard,
        zone: fact.zone,
        opened: fact.at,
        closed: null,
        active: fact.active,
        lot: fact.lot,
        declaredCups: fact.declaredCups,
        rules: parseRules(fact.rules, `visit ${fact.visit}`),
      });
      return;
    case 'visit-closed': {
      const visit = season.visits.get(fact.visit);
      if (visit) season.visits.set(fact.visit, { ...visit, closed: fact.at });
      return;
    }
    case 'cup-loaded':
      season.cups.set(fact.cup, {
        cup: fact.cup,
        visit: fact.visit,
        kind: fact.kind,
        active: fact.active,
        lot: fact.lot,
        colony: fact.colony,
        group: fact.group,
        load: fact.at,
        turn: null,
        places: [],
        spoiled: null,
        counts: { tray: null, wash: null, bees: null },
        ruled: [],
        overruled: null,
        latest: fact.at,
      });
      return;
    case 'cup-seated':
    case 'cup-moved': {
      const place = { carrier: fact.carrier, slot: fact.slot, from: fact.at, to: null };
      change(fact.cup, (cup) => ({ places: [...ended(cup), place] }));
      return;
    }
    case 'cup-lifted':
      change(fact.cup, (cup) => ({ places: ended(cup) }));
      return;
    case 'cup-turned':
      change(fact.cup, (cup) => ({ turn: fact.at, places: ended(cup) }));
      return;
    case 'cup-spoiled':
      change(fact.cup, (cup) => ({
        spoiled: { at: fact.at, why: fact.why, afterCounts: isCounted(cup) },
      }));
      return;
    case 'cup-counted':
      change(fact.cup, ({ counts }) => ({
        counts: {
          tray: fact.tray ?? counts.tray,
          wash: fact.wash ?? counts.wash,
          bees: fact.bees ?? counts.bees,
        },
      }));
      return;
    case 'count-corrected':
      change(fact.cup, ({ counts }) => ({ counts: { ...counts, [fact.field]: fact.new } }));
      return;
    case 'cup-ruled':
    case 'cup-overruled': {
      // Nothing that happens to the cup: its latest event stays what it was.
      const cup = season.cups.get(fact.cup);
      if (!cup) return;
      const said = { ruling: fact.ruling, at: fact.at, afterCounts: isCounted(cup) };
      season.cups.set(
        fact.cup,
        fact.type === 'cup-ruled'
          ? { ...cup, ruled: [...cup.ruled, said] }
          : { ...cup, overruled: { ...said, why: fact.why } },
      );
      return;
    }
    case 'board-bound':
      season.carriers.set(fact.carrier, { ...carrier(fact.carrier), board: fact.board });
      return;
    case 'probe-assigned': {
      const { carrier: id, slot, rom, at } = fact;
      const before = season.assignments.filter((each) => each.at <= at);
      const later = season.assignments.filter((each) => each.at > at);
      season.assignments = [...before, { carrier: id, slot, rom, at }, ...later];
      season.carriers.set(id, carrier(id));
      for (const known of season.carriers.values())
        season.carriers.set(known.carrier, { ...known, slots: slotsBy(season.assignments, known.carrier) });
      return;
    }
    case 'ice-checked':
    case 'placement-mapped':
    case 'lag-measured':
    case 'probes-found':
      season.commissioned = commissionedBy(season.commissioned, fact);
      return;
    case 'store-created':
    case 'board-booted':
    case 'boot-read':
    case 'clock-compared':
    case 'mark-stamped':
    case 'board-warned':
    case 'pages-lost':
    case 'mirror-refused':
      return;
  }
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

/** The place a cup is in now, null when it is in none. */
export const placeNow = (cup: Cup): Place | null => cup.places.find(({ to }) => to === null) ?? null;

/** Whether any of its mites have been counted. */
export const isCounted = ({ counts }: Cup): boolean => counts.tray !== null || counts.wash !== null;

/** The cup that is in a slot at some time from `from` on, as far as is known; null when it stays empty. */
export function cupIn(season: Season, carrier: CarrierId, slot: number, from: UtcMs): Cup | null {
  for (const cup of season.cups.values())
    for (const place of cup.places)
      if (place.carrier === carrier && place.slot === slot && (place.to === null || place.to > from))
        return cup;
  return null;
}

/** The cups of a visit in the order they were loaded. */
export const cupsOf = (season: Season, visit: VisitId): Cup[] =>
  [...season.cups.values()].filter((cup) => cup.visit === visit);
