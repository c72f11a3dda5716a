import { COUNT_MAX } from '../../shared/input.js';
import { factName } from '../store/chains.js';
import { factSchema } from '../store/facts.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import { inZone, type Telling } from '../units/zone.js';
import { firstOrphan, isCount } from './countWithdrawal.js';
import {
  type Change,
  type Counts,
  type Cup,
  type CupEvent,
  type CupFact,
  countsFrom,
  type Entry,
  entriesAfter,
  inOrder,
  isExposed,
  type Place,
  placesFrom,
  slotText,
} from './cup.js';
import { futureObjection } from './future.js';
import type { Season } from './season.js';

/** A fact that is not recorded yet comes after all others of its instant. */
const NOT_RECORDED = Number.MAX_SAFE_INTEGER;

type Loaded = Extract<CupFact, { type: 'cup-loaded' }>;

/**
 * Why a fact of a cup that is loaded already cannot be: null when it can, else one sentence. A fact may tell of a time
 * before what is on record, as long as all of it still hangs together in order of time.
 */
export function cupObjection(
  season: Season,
  fact: Exclude<CupFact, Loaded>,
  now: UtcMs,
  tell: Telling,
): string | null {
  const cup = season.cups.get(fact.cup);
  if (!cup) return `There is no cup ${fact.cup}; load it first, or check the label.`;
  switch (fact.type) {
    case 'cup-ruled':
      return null;
    case 'cup-overruled':
      return isExposed(cup)
        ? `Cup ${fact.cup} has not been turned yet, so it has no ruling to set aside.`
        : null;
    case 'cup-noted':
      return beforeLoad(season, cup, fact.at, tell);
    case 'cup-spoiled':
      return cup.spoiled === null
        ? beforeLoad(season, cup, fact.at, tell)
        : `Cup ${fact.cup} is already marked as spoiled.`;
    case 'cup-counted':
      return beforeLoad(season, cup, fact.at, tell) ?? counting(season, cup, fact, tell);
    case 'count-corrected':
      return correctingCount(cup, fact);
    case 'entry-corrected':
    case 'entry-withdrawn':
      return changing(season, cup, fact, now, tell);
    default: {
      if (fact.type === 'cup-turned' && cup.turn !== null)
        return `Cup ${fact.cup} was turned at ${tell(cup.turn, zoneOf(season, cup))} already; correct that entry if the time is wrong.`;
      const entry: Entry = { seq: NOT_RECORDED, recorded: fact.at, fact };
      return disorder(season, cup, [...cup.entries, entry], entry, tell);
    }
  }
}

const zoneOf = (season: Season, cup: Cup): string => season.visits.get(cup.visit)?.zone ?? 'UTC';

const beforeLoad = (season: Season, cup: Cup, at: UtcMs, tell: Telling): string | null =>
  at < cup.load
    ? `Cup ${cup.cup} was loaded at ${tell(cup.load, zoneOf(season, cup))}, after ${tell(at, zoneOf(season, cup))}; check the time.`
    : null;

/** What does not hang together in what is on record of a cup, when several chains speak of it; null when all does. */
export const cupContradiction = (season: Season, cup: Cup): string | null =>
  disorder(season, cup, cup.entries, inOrder(cup.entries).at(-1) ?? null, inZone);

/** What does not hang together in the entries a cup would have; `culprit` is the one that is new. */
function disorder(
  season: Season,
  cup: Cup,
  entries: readonly Entry[],
  culprit: Entry | null,
  tell: Telling,
): string | null {
  const zone = zoneOf(season, cup);
  const found = firstContradiction(inOrder(entries), (at) => tell(at, zone));
  if (found === null) return taken(season, cup, placesFrom(entries));
  const { entry, sentence } = found;
  return entry === culprit
    ? sentence
    : `Then what is on record for ${tell(entry.fact.at, zone)} would not hold: ${sentence} Check the time, or correct that one first.`;
}

interface Contradiction {
  readonly entry: Entry;
  readonly sentence: string;
}

/** Walks through what happened to a cup, and stops at what cannot have happened. */
function firstContradiction(entries: readonly Entry[], told: (at: UtcMs) => string): Contradiction | null {
  const load = entries.find(({ fact }) => fact.type === 'cup-loaded')!.fact;
  let place: { carrier: string; slot: number } | null = null;
  let turned: UtcMs | null = null;
  for (const entry of entries) {
    const { fact } = entry;
    const sentence = contradiction(fact, load.at, place, turned, told);
    if (sentence !== null) return { entry, sentence };
    if (fact.type === 'cup-seated' || fact.type === 'cup-moved')
      place = { carrier: fact.carrier, slot: fact.slot };
    if (fact.type === 'cup-lifted' || fact.type === 'cup-turned') place = null;
    if (fact.type === 'cup-turned') turned = fact.at;
  }
  return null;
}

function contradiction(
  fact: CupEvent,
  loaded: UtcMs,
  place: { carrier: string; slot: number } | null,
  turned: UtcMs | null,
  told: (at: UtcMs) => string,
): string | null {
  const { cup, at } = fact;
  if (at < loaded) return `Cup ${cup} was loaded at ${told(loaded)}, after ${told(at)}; check the time.`;
  if (fact.type === 'cup-counted')
    return turned === null ? `Cup ${cup} had not been turned by ${told(at)}, and was counted.` : null;
  const isOfExposure = ['cup-seated', 'cup-moved', 'cup-lifted', 'cup-turned'].includes(fact.type);
  if (isOfExposure && turned !== null)
    return `Cup ${cup} was turned at ${told(turned)}; its exposure is over.`;
  const isIn = (there: { carrier: string; slot: number }) =>
    place !== null && place.carrier === there.carrier && place.slot === there.slot;
  switch (fact.type) {
    case 'cup-seated':
      return place ? `Cup ${cup} sits in ${slotText(place)} already; use move, or lift it first.` : null;
    case 'cup-moved':
      if (!place) return `Cup ${cup} is in no slot, so it cannot be moved; use seat.`;
      return isIn(fact) ? `Cup ${cup} is in ${slotText(fact)} already.` : null;
    case 'cup-lifted':
      return place ? null : `Cup ${cup} is in no slot, so it cannot be lifted out of one.`;
    default:
      return null;
  }
}

/** An objection to places that another cup has at the same time. */
function taken(season: Season, cup: Cup, places: readonly Place[]): string | null {
  for (const place of places) {
    const likeIt = [...season.carriers.keys()].find(
      (id) => id.toLowerCase() === place.carrier.toLowerCase() && id !== place.carrier,
    );
    if (likeIt !== undefined && !season.carriers.has(place.carrier))
      return `There is no carrier ${place.carrier}; did you mean ${likeIt}?`;
    for (const other of season.cups.values()) {
      if (other.cup === cup.cup) continue;
      const clash = other.places.find((there) => overlap(place, there));
      if (clash)
        return `Slot ${slotText(place)} holds cup ${other.cup} then; lift or move that one first, or check the time.`;
    }
  }
  return null;
}

const overlap = (a: Place, b: Place): boolean =>
  a.carrier === b.carrier &&
  a.slot === b.slot &&
  (a.to === null || b.from < a.to) &&
  (b.to === null || a.from < b.to);

const COUNTED = { tray: 'The tray', wash: 'The wash', bees: 'The bees' } as const;

/** What was read before is told in no sentence here: whoever counts again should not know. */
function counting(
  season: Season,
  cup: Cup,
  counts: Extract<CupFact, { type: 'cup-counted' }>,
  tell: Telling,
): string | null {
  const { tray, wash, bees, washAgain, dead } = counts;
  if (tray === null && wash === null && bees === null && washAgain === undefined && dead === undefined)
    return `Give at least one count for cup ${cup.cup}: tray, wash or bees.`;
  if (cup.turn === null) return `Cup ${cup.cup} has not been turned yet; turn it before counting.`;
  if (counts.at < cup.turn)
    return `Cup ${cup.cup} was turned at ${tell(cup.turn, zoneOf(season, cup))}, after ${tell(counts.at, zoneOf(season, cup))}; check the time.`;
  for (const field of ['tray', 'wash', 'bees'] as const)
    if (counts[field] !== null && cup.counts[field] !== null)
      return `${COUNTED[field]} of cup ${cup.cup} ${field === 'bees' ? 'were' : 'was'} counted already; to correct that, say why with --why.`;
  if (washAgain !== undefined && cup.washes.length === 0 && wash === null)
    return `The first wash of cup ${cup.cup} has not been read; give that before a further one.`;
  if ((counts.beesHow !== undefined || counts.beesCv !== undefined) && bees === null)
    return `How the number of bees of cup ${cup.cup} was found goes with that number; give it too.`;
  return impossible(
    cup,
    countsFrom([...cup.entries, { seq: NOT_RECORDED, recorded: counts.at, fact: counts }]),
  );
}

function correctingCount(cup: Cup, fact: Extract<CupFact, { type: 'count-corrected' }>): string | null {
  const { field, washNumber } = fact;
  const before = field === 'wash' ? cup.washes[(washNumber ?? 1) - 1] : (cup.counts[field] ?? undefined);
  const name = washNumber === undefined ? field : `${field} ${washNumber}`;
  if (before === undefined)
    return `The ${name} count of cup ${cup.cup} is not read, so there is nothing to correct.`;
  if (before !== fact.old)
    return `The ${name} count of cup ${cup.cup} is another than the one to be corrected; look again first.`;
  return impossible(cup, countsFrom([...cup.entries, { seq: NOT_RECORDED, recorded: fact.at, fact }]));
}

/** What would not hold of the counts that are left when one is withdrawn. */
function withdrawingCount(cup: Cup, after: readonly Entry[]): string | null {
  const orphan = firstOrphan(after);
  if (orphan === null) return impossible(cup, countsFrom(after));
  const { entry, isCorrection } = orphan;
  return `Entry ${factName(entry.seq)} of cup ${cup.cup} ${isCorrection ? 'corrects this count' : 'is one more wash after this one'}; withdraw that first.`;
}

/** Counts no cup can have, as the efficacy core would refuse them later. */
function impossible({ cup }: Cup, { counts }: { counts: Counts }): string | null {
  const { tray, wash, bees } = counts;
  for (const [field, count] of Object.entries({ tray, wash, bees }))
    if (count !== null && count > COUNT_MAX)
      return `The ${field} count of cup ${cup} would be too high; no cup holds more than ${COUNT_MAX}, so check it.`;
  const mites = (tray ?? 0) + (wash ?? 0);
  return bees !== null && mites > bees
    ? `Cup ${cup} would have more mites than bees; check the counts.`
    : null;
}

/** Which fields each kind of entry has that a correction may change. */
const CORRECTABLE: Readonly<Partial<Record<CupEvent['type'], readonly NonNullable<Change['field']>[]>>> = {
  'cup-loaded': ['at', 'withinMs', 'kind', 'active', 'lot', 'colony', 'group'],
  'cup-seated': ['at', 'withinMs', 'carrier', 'slot'],
  'cup-moved': ['at', 'withinMs', 'carrier', 'slot'],
  'cup-lifted': ['at', 'withinMs'],
  'cup-turned': ['at', 'withinMs'],
};

/** The fields of an entry that can be corrected; none of what is no event of the exposure. */
export const correctable = ({ type }: CupEvent): readonly NonNullable<Change['field']>[] =>
  CORRECTABLE[type] ?? [];

function changing(
  season: Season,
  cup: Cup,
  fact: Extract<CupFact, { type: 'entry-corrected' | 'entry-withdrawn' }>,
  now: UtcMs,
  tell: Telling,
): string | null {
  const entry = cup.entries.find(({ seq }) => seq === fact.entry);
  if (!entry)
    return `Cup ${cup.cup} has no entry ${factName(fact.entry)}; see cup show ${cup.cup} for its entries.`;
  const after = entriesAfter(cup.entries, fact);
  if (fact.type === 'entry-withdrawn') {
    if (entry.fact.type === 'cup-loaded')
      return `The load of cup ${cup.cup} cannot be withdrawn, its label is used for ever; mark the cup as spoiled and say why.`;
    if (isCount(entry)) return withdrawingCount(cup, after);
    return disorder(season, cup, after, null, tell);
  }
  if (!correctable(entry.fact).includes(fact.field))
    return `Entry ${factName(fact.entry)} of cup ${cup.cup} has no ${fact.field} to correct.`;
  const stands = written(entry.fact, fact.field);
  if (stands !== fact.old)
    return `The ${fact.field} of entry ${factName(fact.entry)} of cup ${cup.cup} is ${stands ?? 'not given'}, not ${fact.old ?? 'empty'}; look again before correcting it.`;
  if (fact.new === fact.old)
    return `That is what entry ${factName(fact.entry)} of cup ${cup.cup} says already.`;
  const changed = after.find(({ seq }) => seq === fact.entry)!;
  const read = factSchema.safeParse({
    ...changed.fact,
    at: String(fact.field === 'at' ? fact.new : formatInstant(changed.fact.at)),
  });
  if (!read.success)
    return `${fact.new} cannot be the ${fact.field} of entry ${factName(fact.entry)}: it ${read.error.issues[0]!.message}.`;
  const { opened, zone } = season.visits.get(cup.visit)!;
  if (changed.fact.at < opened)
    return `Visit ${cup.visit} was opened at ${tell(opened, zone)}; nothing of its cups can be before that.`;
  const future = futureObjection(changed.fact.at, now, (at) => tell(at, zone));
  if (future !== null) return future;
  return disorder(season, cup, after, changed, tell);
}

/** A field of an entry as it is written in a correction. */
export function written(fact: CupEvent, field: NonNullable<Change['field']>): string | number | null {
  if (field === 'at') return formatInstant(fact.at);
  return ((fact as Readonly<Record<string, unknown>>)[field] as string | number | null | undefined) ?? null;
}
