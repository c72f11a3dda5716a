import { tReachOf } from '../../shared/index.js';
import { Refusal } from '../units/refusal.js';
import { type Celsius, type CelsiusDifference, celsiusDifference } from '../units/temperature.js';
import { between, type DurationMs, inMinutes, minutes, type UtcMs } from '../units/time.js';
import { type BudgetTerm, combined, meanOf, rectangular, spreadOf } from './calibration.js';

/** What all probes of a carrier read in one scan. */
export interface Moment {
  readonly at: UtcMs;
  readonly celsius: ReadonlyMap<string, Celsius>;
}

/** How the probes of a carrier lie to each other over some minutes, at the same moments. */
export interface Differences {
  /** By how much each probe reads above the mean of all. */
  readonly byProbe: ReadonlyMap<string, CelsiusDifference>;
  readonly level: Celsius;
}

export interface PlacementMap {
  /** Standard uncertainty of a place, for every slot of the carrier. */
  readonly uncertainty: CelsiusDifference;
  readonly budget: readonly BudgetTerm[];
  /** By how much each probe's place reads above the mean place. */
  readonly places: ReadonlyMap<string, CelsiusDifference>;
}

/** What a stage must be like. Degrees a minute, degrees. */
interface Stage {
  readonly lasts: DurationMs;
  readonly momentsMin: number;
  readonly driftMax: number;
  /** Largest standard deviation of a probe's difference from the mean of all, from scan to scan. */
  readonly scatterMax: number;
  readonly cure: string;
}

/** A stirred bath: so long, and no restless water (all j). */
export const BATH: Stage = {
  lasts: minutes(2),
  momentsMin: 10,
  driftMax: 0.1,
  scatterMax: 0.06,
  cure: 'stir without a break, wait until the water keeps its temperature, and begin again',
};
/** Empty cups in the closed carrier: probes in still air take minutes to come to rest (all j). */
export const CUPS: Stage = {
  lasts: minutes(10),
  momentsMin: 25,
  driftMax: 0.05,
  scatterMax: 0.1,
  cure: 'close the lid, keep the carrier out of sun and draught, and wait',
};
/** Fewer places say next to nothing of a spread (j). */
export const MAP_PROBES_MIN = 3;
/** In one bath a probe may differ from the mean of all by so many of its own standard uncertainties (j). */
export const BATH_REACH = 3;
/** Bees warm their cup unevenly, and an empty cup cannot show it: +-0.2 rectangular (j). */
export const BEES_HALF_WIDTH = 0.2;
const STEP = 0.0625;
/** Two-sided, what k = 2 stands for with a normal distribution: JCGM 100:2008, table G.2. */
const LEVEL_OF_2 = 0.9545;

/**
 * The probes' differences over the last minutes of a stage.
 *
 * @param moments in order of time; those without a reading of every probe are left out
 * @throws {Refusal} when there is too little, or the bath or the air is not at rest
 */
export function differences(
  moments: readonly Moment[],
  probes: readonly string[],
  stage: Stage,
): Differences {
  const last = moments.at(-1);
  const used = moments.filter(
    ({ at, celsius }) =>
      last !== undefined &&
      between(at, last.at) <= stage.lasts &&
      probes.every((probe) => celsius.has(probe)),
  );
  const lasted = used.length > 0 ? between(used[0]!.at, used.at(-1)!.at) : 0;
  if (used.length < stage.momentsMin || lasted < 0.9 * stage.lasts)
    throw new Refusal(
      `there are ${used.length} scans of all ${probes.length} probes over ${inMinutes(lasted as DurationMs).toFixed(1)} min, ${stage.momentsMin} over ${inMinutes(stage.lasts)} min are needed; wait, and look that every probe answers`,
    );
  const levels = used.map(({ celsius }) => meanOf(probes.map((probe) => celsius.get(probe)!)));
  const drift = slopePerMinute(used.map(({ at }, index) => ({ at, celsius: levels[index]! })));
  if (Math.abs(drift) > stage.driftMax)
    throw new Refusal(
      `the temperature drifts by ${drift.toFixed(2)} °C a minute, ${stage.driftMax} is allowed; ${stage.cure}`,
    );
  const byProbe = new Map<string, CelsiusDifference>();
  for (const probe of probes) {
    const apart = used.map(({ celsius }, index) => celsius.get(probe)! - levels[index]!);
    const scatter = spreadOf(apart);
    if (scatter > stage.scatterMax)
      throw new Refusal(
        `${probe} moves against the others by ${scatter.toFixed(2)} °C (standard deviation), ${stage.scatterMax} is allowed; ${stage.cure}`,
      );
    byProbe.set(probe, celsiusDifference(meanOf(apart)));
  }
  return { byProbe, level: meanOf(levels) as Celsius };
}

/**
 * The same in a bath, where all probes should agree within what they are known to.
 *
 * @param uncertaintyOf standard uncertainty of a probe, corrected as its readings are
 */
export function bathDifferences(
  moments: readonly Moment[],
  probes: readonly string[],
  uncertaintyOf: (probe: string) => CelsiusDifference,
): Differences {
  const found = differences(moments, probes, BATH);
  for (const [probe, apart] of found.byProbe)
    if (Math.abs(apart) > BATH_REACH * uncertaintyOf(probe))
      throw new Refusal(
        `${probe} reads ${apart.toFixed(2)} °C off the mean of all in one bath, ${(BATH_REACH * uncertaintyOf(probe)).toFixed(2)} is allowed; push all probes together into the middle and stir, else check it in ice or replace it`,
      );
  return found;
}

/**
 * What the places do: the differences in empty cups less those in one bath, so that the probes' own errors cancel.
 *
 * u^2 = (s sqrt(1 + 1/n) t/2)^2 + resolution^2 + bees^2, with s the sample standard deviation of the n places
 * (JCGM 100:2008, 4.2.2), 1/n for their mean (4.2.3), and t/2 because few places know s badly (G.3.2).
 */
export function placementMap(bath: Differences, cups: Differences): PlacementMap {
  const places = new Map(
    [...bath.byProbe].map(([probe, apart]) => [
      probe,
      celsiusDifference((cups.byProbe.get(probe) ?? apart) - apart),
    ]),
  );
  const n = places.size;
  if (n < MAP_PROBES_MIN)
    throw new Refusal(`a map needs at least ${MAP_PROBES_MIN} probes, there are ${n}; add probes`);
  const spread = spreadOf([...places.values()]);
  const budget = [
    {
      name: `spread of ${n} places ${spread.toFixed(3)}, widened because they are few`,
      standardUncertainty: celsiusDifference(
        (spread * Math.sqrt(1 + 1 / n) * tReachOf(LEVEL_OF_2, n - 1)) / 2,
      ),
    },
    {
      name: 'resolution in the bath and in the cups, one step of 1/16 each',
      standardUncertainty: celsiusDifference(Math.SQRT2 * rectangular(STEP / 2)),
    },
    {
      name: `bees warm their cup unevenly, ±${BEES_HALF_WIDTH} rectangular (j)`,
      standardUncertainty: rectangular(BEES_HALF_WIDTH),
    },
  ];
  return { uncertainty: combined(budget), budget, places };
}

function slopePerMinute(points: readonly { readonly at: UtcMs; readonly celsius: number }[]): number {
  const times = points.map(({ at }) => at / 60_000);
  const [middle, level] = [meanOf(times), meanOf(points.map(({ celsius }) => celsius))];
  let [xx, xy] = [0, 0];
  for (const [index, { celsius }] of points.entries()) {
    xx += (times[index]! - middle) ** 2;
    xy += (times[index]! - middle) * (celsius - level);
  }
  return xx === 0 ? 0 : xy / xx;
}
