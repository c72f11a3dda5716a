import { rulesToJson } from '../exposure/ruleSet.js';
import { carrierAndStore, chainOfNumber } from '../store/chains.js';
import type { CarrierId } from '../units/ids.js';
import { type Cup, exposureEnd, isExposed } from '../visit/cup.js';
import { exposureOf } from '../visit/exposures.js';
import { armOf } from '../visit/result.js';
import { calibrationRows } from './calibrations.js';
import type { Cell, Row } from './column.js';
import { correctionRows } from './corrections.js';
import type { Source } from './source.js';

/** The rows of the tables that follow from facts alone; `ruling` of counts waits for the readings. */
export interface FactRows {
  readonly visits: readonly Row[];
  readonly cups: readonly Row[];
  readonly exposures: readonly Row[];
  readonly seatings: readonly Row[];
  readonly counts: readonly Row[];
  readonly corrections: readonly Row[];
  readonly probes: readonly Row[];
  readonly calibrations: readonly Row[];
  /** The rule sets that the visits are judged by, each once, as rules.json holds them. */
  readonly rules: readonly Record<string, string | number>[];
}

export function factRows(source: Source): FactRows {
  const rules = new Map<string, Record<string, string | number>>();
  const ruleSets = new Map<string, number>();
  for (const { visit, rules: of } of source.visits) {
    const json = rulesToJson(of);
    const key = JSON.stringify(json);
    rules.set(key, json);
    ruleSets.set(visit, [...rules.keys()].indexOf(key) + 1);
  }
  const ruled = source.cups.filter((cup) => !isExposed(cup));
  const seatings = ruled.flatMap((cup) => seatingRows(source, cup));
  const used = {
    probes: new Set(seatings.map(({ probe }) => String(probe))),
    carriers: new Set(source.cups.flatMap(({ places }) => places.map(({ carrier }) => carrier))),
  };
  return {
    visits: visitRows(source, ruleSets),
    cups: source.cups.map((cup) => cupRow(source, cup)),
    exposures: ruled.map((cup) => exposureRow(cup, ruleSets.get(cup.visit)!)),
    seatings,
    counts: source.cups.map((cup) => countRow(source, cup)),
    corrections: correctionRows(source, used),
    probes: probeRows(source, used.probes),
    calibrations: calibrationRows(source, used),
    rules: [...rules.values()],
  };
}

function visitRows({ visits, facts, isPublic }: Source, ruleSets: ReadonlyMap<string, number>): Row[] {
  return visits.map(({ visit, yard, zone, opened, closed, active, lot, declaredCups }) => {
    const opening = facts.find(({ fact }) => fact.type === 'visit-opened' && fact.visit === visit)!.fact;
    return {
      visit,
      yard,
      zone: isPublic ? null : zone,
      opened_utc: opened,
      closed_utc: closed,
      active,
      lot,
      piece: opening.type === 'visit-opened' ? (opening.piece ?? null) : null,
      declared_cups: declaredCups,
      rule_set: ruleSets.get(visit)!,
    };
  });
}

const yardOf = ({ season }: Source, cup: Cup): string => season.visits.get(cup.visit)!.yard;

function cupRow(source: Source, cup: Cup): Row {
  const { spoiled, overruled } = cup;
  const last = cup.ruled.at(-1);
  return {
    cup: cup.cup,
    visit: cup.visit,
    yard: yardOf(source, cup),
    kind: cup.kind,
    active: cup.active,
    lot: cup.lot,
    arm: armOf(cup),
    colony: cup.colony,
    mother_line: cup.group,
    spoiled_utc: spoiled?.at ?? null,
    spoiled_after_counts: spoiled?.afterCounts ?? null,
    replaced_by: spoiled?.replacedBy ?? null,
    recorded_ruling: last?.ruling ?? null,
    recorded_ruling_utc: last?.at ?? null,
    recorded_after_counts: last?.afterCounts ?? null,
    overruled_to: overruled?.ruling ?? null,
    overruled_utc: overruled?.at ?? null,
    overruled_after_counts: overruled?.afterCounts ?? null,
  };
}

/** @param cup one that is ruled on: its exposure is over */
const exposureRow = (cup: Cup, ruleSet: number): Row => ({
  cup: cup.cup,
  rule_set: ruleSet,
  load_utc: cup.load,
  load_within_ms: cup.loadWithin,
  turn_utc: cup.turn,
  turn_within_ms: cup.turnWithin,
  end_utc: exposureEnd(cup)!,
  is_spoiled: cup.spoiled !== null,
});

function seatingRows(source: Source, cup: Cup): Row[] {
  return exposureOf(source.season, cup, exposureEnd(cup)!).seatings.map(
    ({ probe, from, to, uncertainty }) => {
      const place = cup.places.findLast((each) => each.from <= from)!;
      return {
        cup: cup.cup,
        ...carrierCells(place.carrier),
        slot: place.slot,
        probe,
        from_utc: from,
        to_utc: to,
        uncertainty_celsius: uncertainty,
      };
    },
  );
}

/** A carrier's name and the store that calls it so. */
export function carrierCells(id: CarrierId): { store: Cell; carrier: Cell } {
  const { carrier, store } = carrierAndStore(id);
  return { store, carrier };
}

function countRow(source: Source, cup: Cup): Row {
  const { counts, washes, bees, dead } = cup;
  return {
    yard: yardOf(source, cup),
    visit: cup.visit,
    cup: cup.cup,
    kind: cup.kind,
    arm: armOf(cup),
    colony: cup.colony,
    mother_line: cup.group,
    tray: counts.tray,
    wash: counts.wash,
    washes: washes.length === 0 ? null : washes.join(' '),
    bees: counts.bees,
    bees_how: bees?.how ?? null,
    bees_cv: bees === null ? null : bees.cv,
    dead_bees: dead,
    ruling: null,
  };
}

function probeRows(source: Source, used: ReadonlySet<string>): Row[] {
  const rows: Row[] = [];
  for (const { carrier, slots } of source.season.carriers.values())
    for (const [slot, history] of slots)
      for (const [index, { rom, from }] of history.entries()) {
        const to = history[index + 1]?.from ?? null;
        // What was said again of the same moment lasted no time.
        if (rom !== null && used.has(rom) && to !== from)
          rows.push({ probe: rom, ...carrierCells(carrier), slot, from_utc: from, to_utc: to });
      }
  return rows.sort(by('probe', 'from_utc', 'store', 'carrier', 'slot'));
}

/** An order by columns, texts by their letters' numbers. */
export const by =
  (...columns: readonly string[]) =>
  (a: Row, b: Row): number => {
    for (const column of columns) {
      const [one, other] = [a[column] ?? '', b[column] ?? ''];
      if (one !== other) return one < other ? -1 : 1;
    }
    return 0;
  };

/** The store in whose chain a fact stands. */
export const storeOfFact = (source: Source, number: number): string => source.storeOf(chainOfNumber(number));
