import type { ObservationsOf } from '../../src/exposure/timeline.js';
import type { Exposure, Observation, Seating } from '../../src/exposure/types.js';
import { celsius, celsiusDifference } from '../../src/units/temperature.js';
import { durationMs, later, minutes, parseInstant, seconds, type UtcMs } from '../../src/units/time.js';

/** When the exposures of these tests begin. */
export const LOAD = parseInstant('2026-05-01T06:00:00Z') as UtcMs;

/** The instant so many minutes after the load. */
export const at = (minute: number): UtcMs => later(LOAD, durationMs(Math.round(minutes(minute))));

/** Observations from [minute, degrees Celsius] pairs. */
export const trace = (...points: readonly (readonly [number, number])[]): Observation[] =>
  points.map(([minute, degrees]) => ({ at: at(minute), celsius: celsius(degrees) }));

/** One reading every `everySeconds` from one minute to another, both included. */
export function steady(from: number, to: number, degrees: number, everySeconds = 30): Observation[] {
  const readings: Observation[] = [];
  for (let instant = at(from); instant <= at(to); instant = later(instant, seconds(everySeconds)))
    readings.push({ at: instant, celsius: celsius(degrees) });
  return readings;
}

export const seating = (probe: string, from: number, to: number, uncertainty = 0): Seating => ({
  probe,
  from: at(from),
  to: at(to),
  uncertainty: celsiusDifference(uncertainty),
});

/** An exposure from minute 0 on; by default one seating of probe P throughout, without uncertainty. */
export function exposure(turn: number, change: Partial<Exposure> = {}): Exposure {
  return {
    cup: 'A-1',
    load: LOAD,
    turn: at(turn),
    precision: { load: durationMs(0), turn: durationMs(0) },
    seatings: [seating('P', 0, turn)],
    spoiled: null,
    remarks: [],
    ...change,
  };
}

/** Looks readings up by probe; a bare list is probe P's. */
export function from(
  readings: readonly Observation[] | Record<string, readonly Observation[]>,
): ObservationsOf {
  const byProbe: Record<string, readonly Observation[]> = Array.isArray(readings)
    ? { P: readings }
    : (readings as Record<string, readonly Observation[]>);
  return (probe) => byProbe[probe] ?? [];
}
