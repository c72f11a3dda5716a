import type { RuleSet } from '../exposure/ruleSet.js';
import { parseRules } from '../exposure/ruleSet.js';
import type { Ruling } from '../exposure/types.js';
import type { Fact, RecordedFact } from '../store/facts.js';
import type { BoardId, CarrierId, CupLabel, RomId, VisitId, YardCode } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';

/**
 * What the facts of a store amount to: visits, cups, carriers. Derived by folding the facts in order and
 * never kept; the facts are the truth.
 */
export interface Season {
  readonly visits: ReadonlyMap<VisitId, Visit>;
  readonly cups: ReadonlyMap<CupLabel, Cup>;
  readonly carriers: ReadonlyMap<CarrierId, Carrier>;
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
  readonly spoiled: { readonly at: UtcMs; readonly why: string } | null;
  readonly counts: Counts;
  /** What the rules said whenever it was recorded, in order. */
  readonly ruled: readonly RecordedRuling[];
  readonly overruled: RecordedRuling | null;
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
  /** By slot number, the probes it has had, in order of time. */
  readonly slots: ReadonlyMap<number, readonly { readonly rom: RomId; readonly from: UtcMs }[]>;
}

export const EMPTY_SEASON: Season = { visits: new Map(), cups: new Map(), carriers: new Map() };

/** The season that the facts tell. Facts have been checked when they were recorded. */
export function foldSeason(facts: Iterable<RecordedFact>, from: Season = EMPTY_SEASON): Season {
  const season = {
    visits: new Map(from.visits),
    cups: new Map(from.cups),
    carriers: new Map(from.carriers),
  };
  for (const { fact } of facts) apply(season, fact);
  return season;
}

interface Folding {
  readonly visits: Map<VisitId, Visit>;
  readonly cups: Map<CupLabel, Cup>;
  readonly carriers: Map<CarrierId, Carrier>;
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
      change(fact.cup, () => ({ spoiled: { at: fact.at, why: fact.why } }));
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
      const { tray, wash } = cup.counts;
      const said = { ruling: fact.ruling, at: fact.at, afterCounts: tray !== null || wash !== null };
      season.cups.set(
        fact.cup,
        fact.type === 'cup-ruled' ? { ...cup, ruled: [...cup.ruled, said] } : { ...cup, overruled: said },
      );
      return;
    }
    case 'board-bound':
      season.carriers.set(fact.carrier, { ...carrier(fact.carrier), board: fact.board });
      return;
    case 'probe-assigned': {
      const known = carrier(fact.carrier);
      const history = [...(known.slots.get(fact.slot) ?? []), { rom: fact.rom, from: fact.at }];
      season.carriers.set(fact.carrier, { ...known, slots: new Map(known.slots).set(fact.slot, history) });
      return;
    }
    case 'store-created':
    case 'board-booted':
    case 'probes-found':
    case 'boot-read':
    case 'clock-compared':
    case 'mark-stamped':
    case 'board-warned':
    case 'pages-lost':
      return;
  }
}

/** The place a cup is in now, null when it is in none. */
export const placeNow = (cup: Cup): Place | null => cup.places.find(({ to }) => to === null) ?? null;

/** The cup that sits in a slot now, null when it is empty. */
export function cupIn(season: Season, carrier: CarrierId, slot: number): Cup | null {
  for (const cup of season.cups.values()) {
    const place = placeNow(cup);
    if (place?.carrier === carrier && place.slot === slot) return cup;
  }
  return null;
}

/** The cups of a visit in the order they were loaded. */
export const cupsOf = (season: Season, visit: VisitId): Cup[] =>
  [...season.cups.values()].filter((cup) => cup.visit === visit);
