import type { RuleSet } from '../../src/exposure/ruleSet.js';
import type { Exposure, Observation, Seating } from '../../src/exposure/types.js';

/** The width of a sample: readings of the compared traces fall on whole samples. */
export const SAMPLE_MS = 100;

export interface SampledFigures {
  readonly observedMinutes: number;
  readonly certainCold: Sampled;
  readonly possibleCold: Sampled;
  readonly certainHot: Sampled;
  readonly possibleHot: Sampled;
  readonly degreeMinutesBelow: number;
}

interface Sampled {
  readonly total: number;
  readonly longest: number;
}

/**
 * The slow second opinion: asks every 100 ms, in the middle of the sample, what the definitions say of that one
 * instant, by looking through all readings. Shares nothing with the code under test.
 */
export function sampled(
  exposure: Exposure,
  readings: (probe: string) => readonly Observation[],
  rules: RuleSet,
): SampledFigures {
  const counters = [counter(), counter(), counter(), counter()] as const;
  let observed = 0;
  let degreeMs = 0;
  for (let instant = exposure.load + SAMPLE_MS / 2; instant < exposure.turn; instant += SAMPLE_MS) {
    const seat = exposure.seatings.find(({ from, to }) => instant >= from && instant <= to);
    const degrees =
      seat === undefined ? null : temperatureAt(instant, seat, exposure, readings(seat.probe), rules);
    const u = seat?.uncertainty ?? 0;
    if (degrees !== null) {
      observed += SAMPLE_MS;
      degreeMs += Math.max(0, rules.thresholdCelsius - degrees) * SAMPLE_MS;
    }
    counters[0].add(degrees !== null && degrees + u < rules.thresholdCelsius);
    counters[1].add(degrees === null || degrees - u < rules.thresholdCelsius);
    counters[2].add(degrees !== null && degrees - u > rules.hotCelsius);
    counters[3].add(degrees === null || degrees + u > rules.hotCelsius);
  }
  const [certainCold, possibleCold, certainHot, possibleHot] = counters.map(({ figures }) => figures()) as [
    Sampled,
    Sampled,
    Sampled,
    Sampled,
  ];
  return {
    observedMinutes: observed / 60_000,
    certainCold,
    possibleCold,
    certainHot,
    possibleHot,
    degreeMinutesBelow: degreeMs / 60_000,
  };
}

function temperatureAt(
  instant: number,
  seat: Seating,
  { load, turn }: Exposure,
  readings: readonly Observation[],
  rules: RuleSet,
): number | null {
  const from = Math.max(seat.from, load);
  const to = Math.min(seat.to, turn);
  const inside = readings.filter(({ at }) => at >= from && at <= to);
  const before = inside.filter(({ at }) => at <= instant).at(-1);
  const after = inside.find(({ at }) => at > instant);
  const longest = rules.maxGapSeconds * 1000;
  if (before === undefined && after === undefined) return null;
  if (before === undefined)
    return (after as Observation).at - from <= longest ? (after as Observation).celsius : null;
  if (after === undefined) return to - before.at <= longest ? before.celsius : null;
  if (after.at - before.at > longest) return null;
  const part = (instant - before.at) / (after.at - before.at);
  return before.celsius * (1 - part) + after.celsius * part;
}

function counter() {
  let [total, running, longest] = [0, 0, 0];
  return {
    add(past: boolean): void {
      running = past ? running + SAMPLE_MS : 0;
      if (past) total += SAMPLE_MS;
      longest = Math.max(longest, running);
    },
    figures: (): Sampled => ({ total: total / 60_000, longest: longest / 60_000 }),
  };
}
