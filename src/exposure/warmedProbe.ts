import type { CelsiusDifference } from '../units/temperature.js';
import { between, type DurationMs, seconds, type UtcMs } from '../units/time.js';
import type { Observation } from './types.js';

/** Over this time a rise counts: a hand warms a probe in half a minute, a cabin does not (j). */
export const WARM_WINDOW: DurationMs = seconds(60);
/** A smaller rise is the weather (j). */
export const WARM_RISE_MIN = 2 as CelsiusDifference;
/** The warmed probe rises at least so many times as much as any other (j). */
export const WARM_MARGIN = 3;
/** In so many scans running the same probe must stand out (j): the second hand may be a little late. */
export const WARM_SCANS_MIN = 3;

export interface Rise {
  readonly probe: string;
  /** From the lowest reading of the last minute to the latest, degrees. */
  readonly rise: number;
}

/** Which probe warms. Doubtful: another rises too much beside it. */
export type WarmFinding =
  | { readonly state: 'nothing'; readonly best: Rise | null }
  | { readonly state: 'doubtful'; readonly best: Rise; readonly second: Rise }
  | { readonly state: 'found'; readonly best: Rise; readonly second: Rise | null };

/** Looks at all probes at one moment. Readings in order of time, trustworthy. */
export function warmingNow(readings: ReadonlyMap<string, readonly Observation[]>, now: UtcMs): WarmFinding {
  const rises = [...readings]
    .flatMap(([probe, all]): Rise[] => {
      const recent = all.filter(({ at }) => at <= now && between(at, now) <= WARM_WINDOW);
      const latest = recent.at(-1);
      if (latest === undefined) return [];
      return [{ probe, rise: latest.celsius - Math.min(...recent.map(({ celsius }) => celsius)) }];
    })
    .sort((a, b) => b.rise - a.rise);
  const [best, second = null] = rises;
  if (best === undefined || best.rise < WARM_RISE_MIN) return { state: 'nothing', best: best ?? null };
  if (second !== null && second.rise * WARM_MARGIN > best.rise) return { state: 'doubtful', best, second };
  return { state: 'found', best, second };
}

/** The scans so far in which one and the same probe stood out, without a break. */
export interface WarmSearch {
  readonly probe: string | null;
  readonly scans: number;
}

export const NOTHING_WARM: WarmSearch = { probe: null, scans: 0 };

/** Takes the finding of one more scan. */
export function afterScan(search: WarmSearch, finding: WarmFinding): WarmSearch {
  if (finding.state !== 'found') return NOTHING_WARM;
  const { probe } = finding.best;
  return { probe, scans: search.probe === probe ? search.scans + 1 : 1 };
}

/** The probe that has stood out for long enough; null while there is none. */
export const warmedProbe = ({ probe, scans }: WarmSearch): string | null =>
  scans >= WARM_SCANS_MIN ? probe : null;
