import { trustworthy } from '../exposure/trustworthy.js';
import type { Exposure, Observation, Seating } from '../exposure/types.js';
import { UNCORRECTED } from '../exposure/uncertainty.js';
import type { StoredReading } from '../store/store.js';
import { durationMs, type UtcMs, utcMs } from '../units/time.js';
import type { Carrier, Cup, Place, Season } from './season.js';

/**
 * A cup's exposure as the facts tell it. A cup not yet turned is given `now` as its end.
 *
 * Every probe has the uncertainty of one as bought in an unmapped place; no offset is applied.
 */
export function exposureOf(season: Season, cup: Cup, now: UtcMs): Exposure {
  const turn = cup.turn ?? utcMs(Math.max(now, cup.load));
  return {
    cup: cup.cup,
    load: cup.load,
    turn,
    precision: { load: durationMs(0), turn: durationMs(0) },
    seatings: cup.places.flatMap((place) => seatingsOf(season.carriers.get(place.carrier), place, turn)),
    spoiled: cup.spoiled === null ? null : 'marked by the crew',
    remarks: [],
  };
}

/** A place as seatings: one for each probe its slot had meanwhile; none while the slot had no probe. */
function seatingsOf(carrier: Carrier | undefined, place: Place, turn: UtcMs): Seating[] {
  const end = place.to ?? turn;
  const probes = carrier?.slots.get(place.slot) ?? [];
  return probes.flatMap(({ rom, from }, index): Seating[] => {
    const next = probes[index + 1]?.from ?? end;
    const start = utcMs(Math.max(place.from, from));
    const stop = utcMs(Math.min(end, next));
    return rom !== null && stop > start
      ? [{ probe: rom, from: start, to: stop, uncertainty: UNCORRECTED }]
      : [];
  });
}

/** The trustworthy ones among stored readings, in the same order. */
export function observations(readings: readonly StoredReading[]): Observation[] {
  return readings.flatMap(({ utc, raw, status }): Observation[] => {
    const value = trustworthy(status, raw);
    return typeof value === 'number' ? [{ at: utc, celsius: value }] : [];
  });
}
