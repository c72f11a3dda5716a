import { COUNT_MAX } from '../../shared/index.js';
import type { Fact } from '../store/facts.js';
import type { CarrierId, CupLabel, VisitId } from '../units/ids.js';
import { durationMs, later, type UtcMs } from '../units/time.js';
import { inZone } from '../units/zone.js';
import { type Counts, type Cup, cupIn, cupsOf, isCounted, placeNow, type Season } from './season.js';

/** A time this far ahead of the clock is a slip of the pen; less is two clocks that differ. */
const FUTURE_MAX = durationMs(60_000);

/** An objection to a time that has not come yet. */
export function futureObjection(at: UtcMs, now: UtcMs, zone: string): string | null {
  return at > later(now, FUTURE_MAX)
    ? `${inZone(at, zone)} is in the future; give the time it happened.`
    : null;
}

/**
 * Whether a fact may follow what is known: null when it may, else one sentence that says why not and what
 * to do. Pure. Every way into the store goes through here.
 */
export function objection(season: Season, fact: Fact, now: UtcMs): string | null {
  const future = futureObjection(fact.at, now, zoneFor(season, fact));
  if (future !== null) return future;
  switch (fact.type) {
    case 'visit-opened':
      return season.visits.has(fact.visit)
        ? `Visit ${fact.visit} exists already; choose another name.`
        : null;
    case 'visit-closed':
      return closing(season, fact.visit, fact.at);
    case 'cup-loaded':
      return loading(season, fact.cup, fact.visit, fact.at);
    case 'cup-seated':
    case 'cup-moved':
      return seating(season, fact.type, fact.cup, fact.carrier, fact.slot, fact.at);
    case 'cup-lifted':
      return exposed(season, fact.cup, fact.at, (cup) =>
        placeNow(cup) === null ? `Cup ${fact.cup} is in no slot, so it cannot be lifted out of one.` : null,
      );
    case 'cup-turned':
      return exposed(season, fact.cup, fact.at, () => null);
    case 'cup-spoiled':
      return known(season, fact.cup, fact.at, (cup) =>
        cup.spoiled === null ? null : `Cup ${fact.cup} is already marked as spoiled.`,
      );
    case 'cup-counted':
      return known(season, fact.cup, fact.at, (cup) => counting(cup, fact));
    case 'count-corrected':
      return known(season, fact.cup, fact.at, (cup) =>
        cup.counts[fact.field] === fact.old
          ? impossible(cup, { ...cup.counts, [fact.field]: fact.new })
          : `The ${fact.field} count of cup ${fact.cup} is ${cup.counts[fact.field] ?? 'not read'}, not ${fact.old}; look again before correcting it.`,
      );
    case 'cup-overruled': {
      const cup = season.cups.get(fact.cup);
      if (!cup) return `There is no cup ${fact.cup}; load it first, or check the label.`;
      return cup.turn === null && cup.spoiled === null
        ? `Cup ${fact.cup} has not been turned yet, so it has no ruling to set aside.`
        : null;
    }
    case 'probe-assigned':
      return assigning(season, fact.carrier, fact.slot, fact.at);
    default:
      return null;
  }
}

/** Which probe was where must not change once the counts it would bear on are known. */
function assigning(season: Season, carrier: CarrierId, slot: number, at: UtcMs): string | null {
  for (const cup of season.cups.values()) {
    const there = cup.places.some(
      (place) => place.carrier === carrier && place.slot === slot && (place.to === null || place.to > at),
    );
    if (there && isCounted(cup))
      return `Cup ${cup.cup} sat in ${carrier}:${slot} after ${inZone(at, zoneOf(season, cup))} and its mites are counted; give a later time, or set its ruling aside with cup overrule.`;
  }
  return null;
}

const zoneOf = (season: Season, cup: Cup): string => season.visits.get(cup.visit)?.zone ?? 'UTC';

/** The zone of the visit a fact belongs to; UTC when it belongs to none. */
function zoneFor(season: Season, fact: Fact): string {
  if (fact.type === 'visit-opened') return fact.zone;
  if ('visit' in fact) return season.visits.get(fact.visit)?.zone ?? 'UTC';
  const cup = 'cup' in fact ? season.cups.get(fact.cup) : undefined;
  return cup ? zoneOf(season, cup) : 'UTC';
}

function closing(season: Season, name: VisitId, at: UtcMs): string | null {
  const visit = season.visits.get(name);
  if (!visit) return unknownVisit(season, name);
  if (visit.closed !== null) return `Visit ${name} is closed already.`;
  if (at < visit.opened)
    return `Visit ${name} was opened at ${inZone(visit.opened, visit.zone)}; it cannot be closed before that.`;
  const still = cupsOf(season, name).filter((cup) => cup.turn === null && cup.spoiled === null);
  return still.length > 0
    ? `Visit ${name} still has ${still.length} cup${still.length === 1 ? '' : 's'} to turn (${still.map(({ cup }) => cup).join(', ')}); turn or spoil them first.`
    : null;
}

function loading(season: Season, label: CupLabel, name: VisitId, at: UtcMs): string | null {
  const visit = season.visits.get(name);
  if (!visit) return unknownVisit(season, name);
  if (visit.closed !== null) return `Visit ${name} is closed; open another one for further cups.`;
  if (season.cups.has(label))
    return `Cup ${label} exists already; a label is used once for ever, so take a new one.`;
  if (at < visit.opened)
    return `Visit ${name} was opened at ${inZone(visit.opened, visit.zone)}; a cup cannot be loaded before that.`;
  return null;
}

function seating(
  season: Season,
  type: 'cup-seated' | 'cup-moved',
  label: CupLabel,
  carrier: CarrierId,
  slot: number,
  at: UtcMs,
): string | null {
  return exposed(season, label, at, (cup) => {
    const place = placeNow(cup);
    const there = cupIn(season, carrier, slot, at);
    const likeIt = [...season.carriers.keys()].find((id) => id.toLowerCase() === carrier.toLowerCase());
    if (likeIt !== undefined && likeIt !== carrier)
      return `There is no carrier ${carrier}; did you mean ${likeIt}?`;
    if (type === 'cup-seated' && place)
      return `Cup ${label} sits in ${place.carrier}:${place.slot} already; use move, or lift it first.`;
    if (type === 'cup-moved' && !place) return `Cup ${label} is in no slot, so it cannot be moved; use seat.`;
    if (there?.cup === label) return `Cup ${label} is in ${carrier}:${slot} already.`;
    if (there)
      return `Slot ${carrier}:${slot} holds cup ${there.cup} then; lift or move that one first, or check the time.`;
    return null;
  });
}

function counting(cup: Cup, counts: Counts): string | null {
  if (counts.tray === null && counts.wash === null && counts.bees === null)
    return `Give at least one count for cup ${cup.cup}: tray, wash or bees.`;
  if (cup.turn === null) return `Cup ${cup.cup} has not been turned yet; turn it before counting.`;
  for (const field of ['tray', 'wash', 'bees'] as const)
    if (counts[field] !== null && cup.counts[field] !== null)
      return `The ${field} count of cup ${cup.cup} is ${cup.counts[field]} already; say why it changes with --why to correct it.`;
  return impossible(cup, { ...cup.counts, ...given(counts) });
}

/** Counts no cup can have, as the efficacy core would refuse them later. */
function impossible({ cup }: Cup, { tray, wash, bees }: Counts): string | null {
  for (const [field, count] of Object.entries({ tray, wash, bees }))
    if (count !== null && count > COUNT_MAX)
      return `The ${field} count of cup ${cup} would be ${count}; no cup holds more than ${COUNT_MAX}, so check it.`;
  const mites = (tray ?? 0) + (wash ?? 0);
  return bees !== null && mites > bees
    ? `Cup ${cup} would have ${mites} mites on ${bees} bees; check the counts.`
    : null;
}

const given = (counts: Counts): Partial<Counts> =>
  Object.fromEntries(Object.entries(counts).filter(([, count]) => count !== null));

/** An objection to anything said of a cup that is not there, or said of an earlier time than the last fact. */
function known(
  season: Season,
  label: CupLabel,
  at: UtcMs,
  further: (cup: Cup) => string | null,
): string | null {
  const cup = season.cups.get(label);
  if (!cup) return `There is no cup ${label}; load it first, or check the label.`;
  const zone = zoneOf(season, cup);
  if (at < cup.latest)
    return `The last thing known of cup ${label} happened at ${inZone(cup.latest, zone)}, after ${inZone(at, zone)}; check the time.`;
  return further(cup);
}

function exposed(
  season: Season,
  label: CupLabel,
  at: UtcMs,
  further: (cup: Cup) => string | null,
): string | null {
  return known(season, label, at, (cup) =>
    cup.turn !== null
      ? `Cup ${label} was turned at ${inZone(cup.turn, zoneOf(season, cup))}; its exposure is over.`
      : further(cup),
  );
}

function unknownVisit(season: Season, name: VisitId): string {
  const open = [...season.visits.values()].filter(({ closed }) => closed === null).map(({ visit }) => visit);
  return `There is no visit ${name}; ${open.length > 0 ? `open ones are ${open.join(', ')}` : 'open one first'}.`;
}
