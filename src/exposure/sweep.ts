import { Refusal } from '../units/refusal.js';
import { type Celsius, celsius, celsiusDifference } from '../units/temperature.js';
import { judgeExposure } from './judge.js';
import type { Case } from './orderedRulings.js';
import type { RuleSet } from './ruleSet.js';
import type { ObservationsOf } from './timeline.js';
import type { CupRuling, Exposure, Ruling } from './types.js';

/** The rulings under another threshold, or as if the temperatures were known exactly, against those that stand. */
export interface SweepPoint {
  readonly thresholdCelsius: Celsius;
  /** Whether U is taken as stated or as 0. */
  readonly uncertainty: 'stated' | 'zero';
  /** How many cups get each ruling; a ruling that no cup gets is left out. */
  readonly counts: Readonly<Partial<Record<Ruling, number>>>;
  /** The cups that are ruled otherwise than now. */
  readonly changed: readonly { readonly cup: string; readonly from: Ruling; readonly to: Ruling }[];
}

/** Steps that are not given, degrees. */
export const SWEEP_STEP = 0.5;
/** More thresholds than this are a mistyped step. */
const SWEEP_POINTS_MAX = 200;

/**
 * Reads `12..20` or `12..20/1`, degrees Celsius from the first to the last, both included.
 *
 * @throws {Refusal} when it is not written so, runs backwards, has no step, or too many steps
 */
export function parseSweep(text: string): Celsius[] {
  const [, low, high, step] =
    /^(-?\d+(?:\.\d+)?)\.\.(-?\d+(?:\.\d+)?)(?:\/(\d+(?:\.\d+)?))?$/.exec(text) ?? [];
  if (low === undefined || high === undefined)
    throw new Refusal(
      `${JSON.stringify(text)} is no range of thresholds; write it like 12..20 or, in steps of 1 °C, 12..20/1`,
    );
  const [from, to, by] = [Number(low), Number(high), step === undefined ? SWEEP_STEP : Number(step)];
  if (to < from || by === 0)
    throw new Refusal(`the thresholds ${text} lead nowhere; write the lower one first and a step above 0`);
  const count = Math.floor((to - from) / by + 1e-9) + 1;
  if (count > SWEEP_POINTS_MAX)
    throw new Refusal(
      `the thresholds ${text} are ${count} steps, at most ${SWEEP_POINTS_MAX} are tried; widen the step`,
    );
  return Array.from({ length: count }, (_, index) => celsius(Number((from + index * by).toFixed(9))));
}

/**
 * Everything a sweep rules on, in the order that `sweepFrom` takes: at each threshold every cup with its U as stated,
 * then with U = 0.
 *
 * @throws {Refusal} when a threshold is not below the hot limit
 */
export function sweepCases(
  exposures: readonly Exposure[],
  rules: RuleSet,
  thresholds: readonly Celsius[],
): Case[] {
  const tooHigh = thresholds.find((threshold) => threshold >= rules.hotCelsius);
  if (tooHigh !== undefined)
    throw new Refusal(
      `a threshold of ${tooHigh} °C is not below the hot limit of ${rules.hotCelsius} °C; end the sweep below it`,
    );
  return thresholds.flatMap((thresholdCelsius) =>
    [exposures, exposures.map(exactly)].flatMap((cups) =>
      cups.map((exposure) => ({ exposure, rules: { ...rules, thresholdCelsius } })),
    ),
  );
}

/**
 * The table of a sweep.
 *
 * @param now the rulings that stand, one a cup
 * @param swept the rulings on `sweepCases` of the same cups
 */
export function sweepFrom(
  now: readonly CupRuling[],
  swept: readonly CupRuling[],
  thresholds: readonly Celsius[],
): SweepPoint[] {
  return thresholds.flatMap((thresholdCelsius, index) =>
    (['stated', 'zero'] as const).map((uncertainty, half) => {
      const start = (2 * index + half) * now.length;
      const rulings = swept.slice(start, start + now.length);
      const changed = now.flatMap(({ cup, ruling: from }, at) => {
        const to = (rulings[at] as CupRuling).ruling;
        return from === to ? [] : [{ cup, from, to }];
      });
      return { thresholdCelsius, uncertainty, counts: countsOf(rulings), changed };
    }),
  );
}

/** How much hangs on the threshold, and on U: which cups would be ruled otherwise. @throws {Refusal} as its parts */
export function thresholdSweep(
  exposures: readonly Exposure[],
  observationsOf: ObservationsOf,
  rules: RuleSet,
  thresholds: readonly Celsius[],
): SweepPoint[] {
  const judge = ({ exposure, rules }: Case) => judgeExposure(exposure, observationsOf, rules);
  return sweepFrom(
    exposures.map((exposure) => judge({ exposure, rules })),
    sweepCases(exposures, rules, thresholds).map(judge),
    thresholds,
  );
}

const exactly = (exposure: Exposure): Exposure => ({
  ...exposure,
  seatings: exposure.seatings.map((seating) => ({ ...seating, uncertainty: celsiusDifference(0) })),
});

function countsOf(rulings: readonly CupRuling[]): Partial<Record<Ruling, number>> {
  const counts: Partial<Record<Ruling, number>> = {};
  for (const { ruling } of rulings) counts[ruling] = (counts[ruling] ?? 0) + 1;
  return counts;
}
