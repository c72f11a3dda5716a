import { trustworthy } from '../exposure/trustworthy.js';
import type { Exposure, Observation, Seating } from '../exposure/types.js';
import type { StoredReading } from '../store/store.js';
import { celsiusDifference, shifted } from '../units/temperature.js';
import { durationMs, type UtcMs, utcMs } from '../units/time.js';
import { type Commissioned, changesBetween, iceCautions, offsetOf, uncertaintyOf } from './commissioned.js';
import type { Cup, Place, Season } from './season.js';

/**
 * A cup's exposure as the facts tell it. A cup not yet turned is given `now` as its end.
 *
 * Each seating has the uncertainty that its probe and its carrier were known to have then, and is divided where that
 * changed: an ice check or a map counts from its own time on.
 */
export function exposureOf(season: Season, cup: Cup, now: UtcMs): Exposure {
  const turn = cup.turn ?? utcMs(Math.max(now, cup.load));
  const seated = cup.places.flatMap((place) => seatingsOf(season, place, turn));
  return {
    cup: cup.cup,
    load: cup.load,
    turn,
    precision: { load: durationMs(0), turn: durationMs(0) },
    seatings: seated.map(({ seating }) => seating),
    spoiled: cup.spoiled === null ? null : 'marked by the crew',
    remarks: [...new Set(seated.flatMap(({ remarks }) => remarks))],
  };
}

interface Seated {
  readonly seating: Seating;
  readonly remarks: readonly string[];
}

/** A place as seatings: one for each probe its slot had meanwhile; none while the slot had no probe. */
function seatingsOf(season: Season, place: Place, turn: UtcMs): Seated[] {
  const end = place.to ?? turn;
  const carrier = season.carriers.get(place.carrier);
  const probes = carrier?.slots.get(place.slot) ?? [];
  return probes.flatMap(({ rom, from }, index): Seated[] => {
    const next = probes[index + 1]?.from ?? end;
    const start = utcMs(Math.max(place.from, from));
    const stop = utcMs(Math.min(end, next));
    if (rom === null || stop <= start) return [];
    const known = season.commissioned;
    const remarks = iceCautions(known, rom, carrier?.board ?? null, start).map(
      (caution) => `probe ${rom} in ${place.carrier}:${place.slot}: ${caution}`,
    );
    const starts = [start, ...changesBetween(known, place.carrier, rom, start, stop)];
    return starts.map((at, part) => ({
      seating: {
        probe: rom,
        from: at,
        to: starts[part + 1] ?? stop,
        uncertainty: uncertaintyOf(known, place.carrier, rom, at),
      },
      remarks,
    }));
  });
}

/** The trustworthy ones among stored readings, in the same order, corrected by what their probe read too much then. */
export function observations(readings: readonly StoredReading[], known: Commissioned): Observation[] {
  return readings.flatMap(({ rom, utc, raw, status }): Observation[] => {
    const value = trustworthy(status, raw);
    if (typeof value !== 'number') return [];
    return [{ at: utc, celsius: shifted(value, celsiusDifference(-offsetOf(known, rom, utc))) }];
  });
}
