import type { Fact } from '../store/facts.js';
import type { CarrierId, CupLabel, VisitId } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { inZone, type Telling } from '../units/zone.js';
import { type Cup, isExposed, isOfCup } from './cup.js';
import { cupObjection } from './cupLifecycle.js';
import { futureObjection } from './future.js';
import { cupsOf, openVisits, type Season } from './season.js';
import { withdrawalObjection } from './withdrawals.js';

/**
 * Whether a fact may follow what is known: null when it may, else one sentence that says why not and what
 * to do. Pure. Every way into the store goes through here.
 *
 * @param tell writes the instants in the sentence
 */
export function objection(season: Season, fact: Fact, now: UtcMs, tell: Telling = inZone): string | null {
  const future = futureObjection(fact.at, now, (at) => tell(at, zoneFor(season, fact)));
  if (future !== null) return future;
  if (isOfCup(fact) && fact.type !== 'cup-loaded') return cupObjection(season, fact, now, tell);
  switch (fact.type) {
    case 'visit-opened':
      return season.visits.has(fact.visit)
        ? `Visit ${fact.visit} exists already; choose another name.`
        : null;
    case 'visit-closed':
      return closing(season, fact.visit, fact.at, tell);
    case 'cup-loaded':
      return loading(season, fact.cup, fact.visit, fact.at, tell);
    case 'probe-assigned':
      return assigning(season, fact.carrier, fact.slot, fact.at);
    case 'measurement-withdrawn':
      return withdrawalObjection(season, fact, now);
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
    if (there && cup.wasCounted)
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

function closing(season: Season, name: VisitId, at: UtcMs, tell: Telling): string | null {
  const visit = season.visits.get(name);
  if (!visit) return unknownVisit(season, name);
  if (visit.closed !== null) return `Visit ${name} is closed already.`;
  if (at < visit.opened)
    return `Visit ${name} was opened at ${tell(visit.opened, visit.zone)}; it cannot be closed before that.`;
  const still = cupsOf(season, name).filter(isExposed);
  return still.length > 0
    ? `Visit ${name} still has ${still.length} cup${still.length === 1 ? '' : 's'} to turn (${still.map(({ cup }) => cup).join(', ')}); turn or spoil them first.`
    : null;
}

function loading(season: Season, label: CupLabel, name: VisitId, at: UtcMs, tell: Telling): string | null {
  const visit = season.visits.get(name);
  if (!visit) return unknownVisit(season, name);
  if (visit.closed !== null) return `Visit ${name} is closed; open another one for further cups.`;
  if (season.cups.has(label))
    return `Cup ${label} exists already; a label is used once for ever, so take a new one.`;
  if (at < visit.opened)
    return `Visit ${name} was opened at ${tell(visit.opened, visit.zone)}; a cup cannot be loaded before that.`;
  return null;
}

function unknownVisit(season: Season, name: VisitId): string {
  const open = openVisits(season).map(({ visit }) => visit);
  return `There is no visit ${name}; ${open.length > 0 ? `open ones are ${open.join(', ')}` : 'open one first'}.`;
}
