import { trustworthy } from '../exposure/trustworthy.js';
import type { Exposure, Observation, Seating } from '../exposure/types.js';
import type { StoredReading, Track } from '../store/store.js';
import type { RomId } from '../units/ids.js';
import { type Celsius, celsiusDifference, shifted } from '../units/temperature.js';
import { durationMs, later, type UtcMs, utcMs } from '../units/time.js';
import { type Commissioned, changesBetween, iceCautions, offsetOf, uncertaintyOf } from './commissioned.js';
import { type Cup, exposureEnd, type Place } from './cup.js';
import type { Season } from './season.js';

/**
 * A cup's exposure as the facts tell it. One that lasts is given `now` as its end.
 *
 * Each seating has the uncertainty that its probe and its carrier were known to have then, and is divided where that
 * changed: an ice check or a map counts from its own time on.
 */
export function exposureOf(season: Season, cup: Cup, now: UtcMs): Exposure {
  const turn = exposureEnd(cup) ?? utcMs(Math.max(now, cup.load));
  const seated = cup.places.flatMap((place) => seatingsOf(season, placeForSure(place, cup, turn)));
  return {
    cup: cup.cup,
    load: cup.load,
    turn,
    precision: { load: cup.loadWithin, turn: cup.turnWithin },
    seatings: seated.map(({ seating }) => seating),
    spoiled: cup.spoiled === null ? null : 'marked by the crew',
    remarks: [...new Set(seated.flatMap(({ remarks }) => remarks))],
  };
}

interface Seated {
  readonly seating: Seating;
  readonly remarks: readonly string[];
}

interface Stretch extends Pick<Place, 'carrier' | 'slot' | 'from'> {
  readonly to: UtcMs;
}

/**
 * When a cup was in a slot whatever its times are within what is stated of them: what is left is a gap, which the ruling
 * takes for the worst. A cup that stayed until it was turned stayed until the latest time that it may have been turned.
 * Where a spoiled cup stood later is no part of its exposure.
 */
function placeForSure(
  { carrier, slot, from, to, fromWithin, toWithin }: Place,
  cup: Cup,
  turn: UtcMs,
): Stretch {
  const isTurnedThere = to !== null && to === cup.turn;
  const left = to === null ? turn : later(to, durationMs(isTurnedThere ? toWithin : -toWithin));
  return {
    carrier,
    slot,
    from: later(from, fromWithin),
    to: utcMs(Math.min(left, later(turn, cup.turnWithin))),
  };
}

/** A stretch as seatings: one for each probe its slot had meanwhile; none while the slot had no probe. */
function seatingsOf(season: Season, place: Stretch): Seated[] {
  const end = place.to;
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

/**
 * What `observations` gives, for a track, without an object for each: calls `take` in order of time.
 */
export function observe(
  track: Track,
  rom: RomId,
  known: Commissioned,
  take: (at: UtcMs, celsius: Celsius) => void,
): void {
  const isCorrected = known.ice.has(rom);
  for (let index = 0; index < track.utc.length; index += 1) {
    const at = track.utc[index] as UtcMs;
    const value = trustworthy('ok', track.raw[index]!);
    if (typeof value !== 'number') continue;
    take(at, isCorrected ? shifted(value, celsiusDifference(-offsetOf(known, rom, at))) : value);
  }
}
