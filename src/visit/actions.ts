import { RULINGS, type Ruling } from '../exposure/types.js';
import { factName } from '../store/chains.js';
import type { BEE_METHODS, DEAD_BEES } from '../store/cupFacts.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { CarrierId, CupLabel, VisitId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import type { DurationMs, UtcMs } from '../units/time.js';
import { withdrawnWith } from './countWithdrawal.js';
import { type Change, type Cup, type Entry, placeNow } from './cup.js';
import { written } from './cupLifecycle.js';
import { rulingFacts } from './ruleBlind.js';
import { cupsOf, openVisits, type Season, type Visit } from './season.js';

/**
 * What the crew does, as facts: one function an action, for commands and screen alike. They are called inside `record`,
 * which checks what they give.
 */
export interface Entering {
  readonly store: Store;
  /** When it happened. */
  readonly at: UtcMs;
  /** How far the true time may lie from `at`, either way; null when exact. */
  readonly within: DurationMs | null;
  /** The name of who says so; null when nobody is named. */
  readonly who: string | null;
  /** Why it is entered late, null when it is not, or nobody says. */
  readonly late: string | null;
  /** The present, for rulings. */
  readonly now: UtcMs;
}

const byWhom = ({ store, who }: Entering) => (who === null ? {} : { who: store.keepText(who) });

const stamped = (entering: Entering) => {
  const { store, at, within, late } = entering;
  return {
    at,
    ...(within === null || within === 0 ? {} : { withinMs: within }),
    ...(late === null ? {} : { late: store.keepText(late) }),
    ...byWhom(entering),
  };
};

/** What is said of a cup when it is loaded. Actives and lots that are left out are the visit's. */
export interface Loading {
  readonly kind: 'strip' | 'no-strip';
  readonly active?: string | undefined;
  readonly lot?: string | undefined;
  readonly colony?: string | undefined;
  readonly group?: string | undefined;
}

export function loadCup(visit: Visit, cup: CupLabel, loading: Loading, entering: Entering): Fact[] {
  const { kind, active, lot, colony, group } = loading;
  const isStrip = kind === 'strip';
  return [
    {
      type: 'cup-loaded',
      visit: visit.visit,
      cup,
      kind,
      active: isStrip ? (active ?? visit.active) : null,
      lot: isStrip ? (lot ?? visit.lot) : null,
      colony: colony ?? null,
      group: group ?? null,
      ...stamped(entering),
    },
  ];
}

export interface SlotName {
  readonly carrier: CarrierId;
  readonly slot: number;
}

export const seatCup = (cup: CupLabel, { carrier, slot }: SlotName, entering: Entering): Fact[] => [
  { type: 'cup-seated', cup, carrier, slot, ...stamped(entering) },
];

export const moveCup = (cup: CupLabel, { carrier, slot }: SlotName, entering: Entering): Fact[] => [
  { type: 'cup-moved', cup, carrier, slot, ...stamped(entering) },
];

export const liftCup = (cup: CupLabel, entering: Entering): Fact[] => [
  { type: 'cup-lifted', cup, ...stamped(entering) },
];

export const turnCup = (cup: CupLabel, entering: Entering): Fact[] => [
  { type: 'cup-turned', cup, ...stamped(entering) },
];

export const noteCup = (cup: CupLabel, text: string, entering: Entering): Fact[] => [
  {
    type: 'cup-noted',
    cup,
    text: entering.store.keepText(text),
    at: entering.at,
    ...byWhom(entering),
  },
];

export const spoilCup = (cup: CupLabel, why: string, entering: Entering): Fact[] => [
  { type: 'cup-spoiled', cup, at: entering.at, why: entering.store.keepText(why), ...byWhom(entering) },
];

/**
 * Fills another cup in place of one that cannot be saved, usually because it went cold at once. The first stays on
 * record as spoiled, whatever was read of it.
 */
export function replaceCup(
  season: Season,
  old: CupLabel,
  fresh: CupLabel,
  why: string,
  entering: Entering,
): Fact[] {
  const cup = season.cups.get(old);
  if (!cup) throw new Refusal(`There is no cup ${old}; load it first, or check the label.`);
  if (cup.turn !== null)
    throw new Refusal(`Cup ${old} has been turned; load cup ${fresh} as a further cup instead.`);
  const place = placeNow(cup);
  const { store, at } = entering;
  return [
    ...(place ? liftCup(old, entering) : []),
    {
      type: 'cup-spoiled',
      cup: old,
      at,
      why: store.keepText(why),
      replacedBy: fresh,
      ...byWhom(entering),
    },
    {
      type: 'cup-loaded',
      visit: cup.visit,
      cup: fresh,
      kind: cup.kind,
      active: cup.active,
      lot: cup.lot,
      colony: cup.colony,
      group: cup.group,
      ...stamped(entering),
    },
  ];
}

/** What was read of a cup, as far as it was. */
export interface Reading {
  readonly tray: number | null;
  readonly wash: number | null;
  readonly bees: number | null;
  readonly washAgain?: number | undefined;
  readonly beesHow?: (typeof BEE_METHODS)[number] | undefined;
  readonly beesCv?: number | undefined;
  readonly dead?: (typeof DEAD_BEES)[number] | undefined;
}

/**
 * Counts of a cup, with the ruling on record before them. What was counted before is corrected, if `why` says why.
 *
 * @throws {Refusal} when there is a reason but nothing to correct
 */
export function countCup(
  season: Season,
  label: CupLabel,
  given: Reading,
  why: string | null,
  entering: Entering,
): Fact[] {
  const { store, at, now } = entering;
  const cup = season.cups.get(label);
  const ruled = cup ? rulingFacts(store, season, [cup], now) : [];
  const before = (field: 'tray' | 'wash' | 'bees') =>
    field === 'wash' ? (cup?.washes[0] ?? null) : (cup?.counts[field] ?? null);
  const fields = (['tray', 'wash', 'bees'] as const).filter((field) => given[field] !== null);
  const corrected = fields.filter((field) => before(field) !== null);
  if (why !== null && corrected.length === 0)
    throw new Refusal(
      `Nothing of cup ${label} was counted before, so there is nothing to correct; leave out --why.`,
    );
  const fact: Fact = { type: 'cup-counted', cup: label, at, ...left(given), ...byWhom(entering) };
  if (why === null || !cup) return [...ruled, fact];
  const keep = <T>(field: 'tray' | 'wash' | 'bees', value: T) => (corrected.includes(field) ? null : value);
  const rest: Fact = {
    ...fact,
    tray: keep('tray', given.tray),
    wash: keep('wash', given.wash),
    bees: keep('bees', given.bees),
  };
  const isAnyLeft =
    fields.length > corrected.length || given.washAgain !== undefined || given.dead !== undefined;
  return [
    ...ruled,
    ...corrected.map(
      (field): Fact => ({
        type: 'count-corrected',
        cup: label,
        at,
        field,
        old: before(field) as number,
        new: given[field] as number,
        why: store.keepText(why),
        ...byWhom(entering),
      }),
    ),
    ...(isAnyLeft ? [rest] : []),
  ];
}

/** What is given, without what is left open. */
function left({ tray, wash, bees, washAgain, beesHow, beesCv, dead }: Reading) {
  return {
    tray,
    wash,
    bees,
    ...(washAgain === undefined ? {} : { washAgain }),
    ...(beesHow === undefined ? {} : { beesHow }),
    ...(beesCv === undefined ? {} : { beesCv }),
    ...(dead === undefined ? {} : { dead }),
  };
}

export function overruleCup(
  season: Season,
  label: CupLabel,
  ruling: Ruling,
  why: string,
  entering: Entering,
): Fact[] {
  const { store, at, now } = entering;
  const cup = season.cups.get(label);
  return [
    ...(cup ? rulingFacts(store, season, [cup], now) : []),
    { type: 'cup-overruled', cup: label, ruling, at, why: store.keepText(why), ...byWhom(entering) },
  ];
}

/** The word of a ruling, or a refusal that names those there are. */
export function rulingNamed(text: string): Ruling {
  const known = RULINGS.find((each) => each === text);
  if (!known) throw new Refusal(`${text} is not a ruling; write one of ${RULINGS.join(', ')}.`);
  return known;
}

/** Corrects fields of an entry, one fact a field; those that say so already are left out. */
export function correctEntry(
  cup: Cup,
  { seq, fact }: Entry,
  changes: Partial<Record<NonNullable<Change['field']>, string | number | null>>,
  why: string,
  entering: Entering,
): Fact[] {
  const { store, at } = entering;
  const fields = Object.keys(changes) as NonNullable<Change['field']>[];
  const facts = fields.flatMap((field): Fact[] => {
    const [old, value] = [written(fact, field), changes[field] ?? null];
    if (old === value) return [];
    return [
      {
        type: 'entry-corrected',
        cup: cup.cup,
        entry: seq,
        field,
        old,
        new: value,
        why: store.keepText(why),
        at,
        ...byWhom(entering),
      },
    ];
  });
  if (facts.length === 0)
    throw new Refusal(
      `Entry ${factName(seq)} of cup ${cup.cup} says just that already; nothing is corrected.`,
    );
  return facts;
}

/** Withdraws an entry, and with a count what corrected it. */
export const withdrawEntry = (cup: Cup, entry: Entry, why: string, entering: Entering): Fact[] =>
  withdrawnWith(cup, entry).map(({ seq }) => ({
    type: 'entry-withdrawn',
    cup: cup.cup,
    entry: seq,
    why: entering.store.keepText(why),
    at: entering.at,
    ...byWhom(entering),
  }));

/** The only open visit, when none is named. */
export function onlyOpenVisit(season: Season): Visit {
  const open = openVisits(season);
  if (open.length === 1) return open[0]!;
  throw new Refusal(
    open.length === 0
      ? 'No visit is open; open one with visit open.'
      : `Several visits are open (${open.map(({ visit }) => visit).join(', ')}); say which with --visit.`,
  );
}

/** Closes a visit, with the rulings on its cups on record before. */
export function closeVisit(season: Season, visit: VisitId, entering: Entering): Fact[] {
  const cups = cupsOf(season, visit);
  return [
    ...rulingFacts(entering.store, season, cups, entering.now),
    { type: 'visit-closed', visit, at: entering.at, ...byWhom(entering) },
  ];
}
