import type { UtcMs } from '../units/time.js';
import { figuresOf } from './figures.js';
import { rulingFrom, windowsOf } from './judge.js';
import type { RuleSet } from './ruleSet.js';
import { RunningFold } from './runningFold.js';
import { SeatingFold, type SeatingPart } from './seatingFold.js';
import { countWhile, seatingsIn, type Window } from './timeline.js';
import { conflict } from './trustworthy.js';
import type { CupRuling, Exposure, Observation, Seating } from './types.js';

/** The ruling on an exposure while its readings and its facts still come in. */
export interface LiveRuling {
  /** Takes a trustworthy, corrected reading of any probe, whenever it comes. */
  add(probe: string, reading: Observation): void;
  /** Takes the exposure as it is known from now on: moved, turned, corrected. */
  expose(exposure: Exposure): void;
  /**
   * What `judgeExposure` says of the same exposure and readings, to the last bit.
   *
   * @throws {Refusal} as `judgeExposure`
   */
  ruling(): CupRuling;
}

/**
 * Follows one exposure. A reading that comes in order costs one step; a late one costs the steps after it; another
 * end of the last seating costs nothing. Keeps every reading it was given, because a late fact may bring it into a
 * seating.
 */
export function liveRuling(first: Exposure, rules: RuleSet): LiveRuling {
  let exposure = first;
  const logs = new Map<string, ProbeLog>();
  let running = new Map<string, RunningFold>();
  const logOf = (probe: string): ProbeLog => {
    const log = logs.get(probe) ?? new ProbeLog();
    logs.set(probe, log);
    return log;
  };

  const partsOf = (window: Window, kept: Map<string, RunningFold>): SeatingPart[] =>
    seatingsIn(exposure.cup, exposure.seatings, window).map((seating) => {
      const log = logOf(seating.probe);
      log.refuseConflict(seating);
      const key = [window.from, seating.probe, seating.from, seating.uncertainty].join(' ');
      const fold =
        kept.get(key) ?? running.get(key) ?? new RunningFold(new SeatingFold(seating, window.from, rules));
      kept.set(key, fold);
      return fold.upTo(seating.to, log.readings);
    });

  return {
    add(probe, reading) {
      if (!logOf(probe).insert(probe, reading)) return;
      for (const fold of running.values()) if (fold.probe === probe) fold.forget(reading.at);
    },
    expose(changed) {
      exposure = changed;
    },
    ruling() {
      const kept = new Map<string, RunningFold>();
      const figures = windowsOf(exposure).map((window) => figuresOf(partsOf(window, kept), window, rules));
      running = kept;
      return rulingFrom(exposure, figures, rules);
    },
  };
}

/** The readings of one probe in order of time, one an instant. */
class ProbeLog {
  readonly readings: Observation[] = [];
  private readonly conflicts: { at: UtcMs; refusal: Error }[] = [];

  /** Whether the reading is news. */
  insert(probe: string, reading: Observation): boolean {
    const index = countWhile(this.readings, (at) => at < reading.at);
    const there = this.readings[index];
    if (there === undefined || there.at !== reading.at) {
      this.readings.splice(index, 0, reading);
      return true;
    }
    if (there.celsius !== reading.celsius)
      this.conflicts.push({
        at: reading.at,
        refusal: conflict(probe, reading.at, there.celsius, reading.celsius),
      });
    return false;
  }

  refuseConflict({ from, to }: Seating): void {
    const found = this.conflicts.find(({ at }) => at >= from && at <= to);
    if (found !== undefined) throw found.refusal;
  }
}
