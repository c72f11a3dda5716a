import type { Observation } from '../../src/exposure/types.js';
import type { Chance } from '../../src/units/clock.js';
import { fromSixteenths } from '../../src/units/temperature.js';
import { later, seconds } from '../../src/units/time.js';
import { LOAD } from './traces.js';

/** A probe that is taken out of `from` after `holdSeconds` and follows `to` with `tauSeconds`, read every 10 s. */
export function stepReadings(
  step: {
    readonly from: number;
    readonly to: number | ((second: number) => number);
    readonly tauSeconds: number;
    readonly lastsSeconds: number;
    readonly holdSeconds?: number;
    /** Largest random error, either way, before rounding to sixteenths. */
    readonly noise?: number;
  },
  chance: Chance,
): Observation[] {
  const { from, to, tauSeconds, lastsSeconds, holdSeconds = 60, noise = 0.03 } = step;
  const begins = holdSeconds + 10 * chance.uniform();
  const air = typeof to === 'number' ? () => to : to;
  const readings: Observation[] = [];
  let body = from;
  for (let second = 0; second <= holdSeconds + lastsSeconds; second += 1) {
    if (second > begins) body += (air(second - begins) - body) * (1 - Math.exp(-1 / tauSeconds));
    if (second % 10 !== 0) continue;
    const felt = body + noise * (2 * chance.uniform() - 1);
    readings.push({ at: later(LOAD, seconds(second)), celsius: fromSixteenths(Math.round(felt * 16)) });
  }
  return readings;
}
