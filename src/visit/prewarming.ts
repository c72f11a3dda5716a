import { prewarmMinutes } from '../exposure/prewarm.js';
import type { CarrierId } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { carrierNames } from './carrierNames.js';
import { inForce, type LagMeasured } from './commissioned.js';
import type { Season } from './season.js';
import { probeIn } from './slots.js';

/** How slowly a carrier's probes follow, and so how long it is to stand warm before its first cup. */
export interface Prewarming {
  readonly carrier: CarrierId;
  /** As people call it. */
  readonly name: string;
  /** Slots that have a probe. */
  readonly probes: number;
  /** Of those whose lag is known, in the order of slots; seconds, with its two-sided 95 % interval. */
  readonly lags: readonly LagMeasured[];
  /** For the slowest of them, at the upper end of its interval; null when none is known. */
  readonly minutes: number | null;
}

/** Of a carrier whose lag was never measured: three time constants of 5 min, those of a probe in still air (j). */
const MINUTES_UNMEASURED = 15;

export function prewarmingOf(season: Season, at: UtcMs): Prewarming[] {
  const names = carrierNames(season);
  return [...season.carriers.values()]
    .sort((a, b) => (a.carrier < b.carrier ? -1 : 1))
    .flatMap((carrier) => {
      const roms = [...carrier.slots.keys()]
        .sort((a, b) => a - b)
        .flatMap((slot) => probeIn(carrier, slot, at) ?? []);
      if (roms.length === 0) return [];
      const lags = roms.flatMap((rom) => inForce(season.commissioned.lags.get(rom), at) ?? []);
      const slowest = Math.max(0, ...lags.map(({ highSeconds }) => highSeconds));
      const minutes = slowest === 0 ? null : prewarmMinutes(slowest);
      return [
        {
          carrier: carrier.carrier,
          name: names.carrier(carrier.carrier),
          probes: roms.length,
          lags,
          minutes,
        },
      ];
    });
}

/** What to do about it before the first cup, a sentence each; carriers of which nothing is known in one. */
export function prewarmAdvice(carriers: readonly Prewarming[]): string[] {
  const unmeasured = carriers.filter(({ minutes }) => minutes === null);
  return [
    ...carriers.flatMap(({ name, probes, lags, minutes }) => {
      if (minutes === null) return [];
      const known = lags.length === probes ? '' : ` (${lags.length} of ${probes} probes measured)`;
      return [
        `Carrier ${name}: let its air be warm for ${Math.ceil(minutes)} min before the first cup${known}, or a warm cup will read cold.`,
      ];
    }),
    ...(unmeasured.length === 0
      ? []
      : [
          `Carrier${unmeasured.length === 1 ? '' : 's'} ${unmeasured.map(({ name }) => name).join(', ')}: how slowly the probes follow was never measured (probe lag); let the air be warm for ${MINUTES_UNMEASURED} min before the first cup, or a warm cup will read cold.`,
        ]),
  ];
}

/** What a report says of it: a lag is reported and cured by pre-warming, never by calculation. */
export function lagInWords({ name, probes, lags }: Prewarming): string {
  if (lags.length === 0)
    return `carrier ${name}: lag of its ${probes} probe${probes === 1 ? '' : 's'} not measured`;
  const seconds = lags.map(({ tauSeconds }) => tauSeconds);
  const [low, high] = [
    Math.min(...lags.map(({ lowSeconds }) => lowSeconds)),
    Math.max(...lags.map(({ highSeconds }) => highSeconds)),
  ];
  return `carrier ${name}: lag ${Math.min(...seconds).toFixed(0)} to ${Math.max(...seconds).toFixed(0)} s (within ${low.toFixed(0)} to ${high.toFixed(0)} s), measured for ${lags.length} of ${probes} probes`;
}
