import type { CarrierEvent } from '../carrier/events.js';
import type { Clock } from '../units/clock.js';
import { type DurationMs, minutes } from '../units/time.js';
import type { Say } from './say.js';

/** How often it is said whether readings flow. */
export const FLOW_EVERY: DurationMs = minutes(5);

/** Counts what comes from sources, and says now and then whether it flows: a log that falls silent is a sign, too. */
export interface Flow {
  heard(source: string, event: CarrierEvent): void;
  stop(): void;
}

export function flow(options: {
  readonly sources: readonly string[];
  readonly clock: Pick<Clock, 'every' | 'monotonic'>;
  readonly say: Say;
  /** Why nothing can be stored now, null when it can. */
  readonly unstored: () => string | null;
}): Flow {
  const { sources, clock, say, unstored } = options;
  const scans = new Map(sources.map((source) => [source, new Set<string>()]));
  const last = new Map<string, number>();
  const tell = () => {
    const parts = sources.map((source) => {
      const count = scans.get(source)!.size;
      scans.get(source)!.clear();
      const at = last.get(source);
      const since =
        at === undefined ? 'none since the start' : `the last ${ageText(clock.monotonic() - at)} ago`;
      return `${source} ${count} scan${count === 1 ? '' : 's'}, ${since}`;
    });
    const isFlowing = sources.every(
      (source) => clock.monotonic() - (last.get(source) ?? -FLOW_EVERY) < FLOW_EVERY,
    );
    const why = unstored();
    const how = isFlowing ? 'readings flow' : 'NOT ALL READINGS FLOW';
    say(
      `${why === null ? how : `NOTHING CAN BE STORED (${why.replace(/\.$/, '')}), of what comes`}: in 5 min ${parts.join('; ')}`,
      undefined,
      why !== null ? 'error' : isFlowing ? 'info' : 'warn',
    );
  };
  const stop = clock.every(FLOW_EVERY, tell);
  return {
    heard(source, event) {
      if (event.kind !== 'scan') return;
      // A scan of many probes comes in several lines.
      scans.get(source)?.add(`${event.bootCount} ${event.scan}`);
      last.set(source, clock.monotonic());
    },
    stop,
  };
}

const ageText = (ms: number): string =>
  ms < 120_000 ? `${Math.round(ms / 1000)} s` : `${Math.round(ms / 60_000)} min`;
