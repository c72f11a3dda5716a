import { clusteredEfficacy, fromLogit, logit, type SeasonYard, seasonReport } from '../../shared/index.js';
import { normalCdf } from '../../shared/quantiles.js';
import { decide } from '../../shared/verdict.js';
import { seededChance } from '../../src/units/clock.js';
import { drawCup, drawMites } from '../shared/drawn.js';

/** Invented seasons: yards whose efficacies spread as a normal distribution on the logit scale. */
export interface Season {
  readonly yards: number;
  readonly efficacyOfMiddleYard: number;
  readonly sdBetweenYards: number;
  readonly runs: number;
  readonly seed: number;
}

const LINE = 0.7;
const LEVEL = 0.95;
const CUPS = 10;
const MITES_MEAN = 8;
const MITES_SIZE = 1.5;
const RHO = 0.05;

/** What came of the runs. The first three are how often an interval holds the truth. */
export interface SeasonFigures {
  readonly middle: number;
  readonly nextYard: number;
  readonly share: number;
  /** The true share of yards below the line, and the means of what is said of it. */
  readonly trueShare: number;
  readonly meanEstimate: number;
  readonly meanCountOfVerdicts: number;
  readonly meanCountOfEstimates: number;
}

/** A standard normal draw, by Box and Muller's transformation. */
const drawNormal = (uniform: () => number): number =>
  Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());

/** The result of one yard of that true efficacy. */
function drawResult(uniform: () => number, yard: string, truth: number): SeasonYard {
  const cups = Array.from({ length: CUPS }, () =>
    drawCup(uniform, drawMites(uniform, MITES_MEAN, MITES_SIZE), truth, RHO),
  );
  const { efficacy, effectiveMites, interval, mites } = clusteredEfficacy(cups, LEVEL);
  const cupsWithMites = cups.filter(({ whole }) => whole > 0).length;
  const verdict = decide({ interval, cupsWithMites, mites }, { line: LINE, minCups: 5, minMites: 20 });
  return { yard, arm: null, verdict, efficacy, effectiveMites, interval };
}

export function seasonFigures(season: Season): SeasonFigures {
  const { uniform } = seededChance(season.seed);
  const mean = logit(season.efficacyOfMiddleYard);
  const trueShare = normalCdf((logit(LINE) - mean) / season.sdBetweenYards);
  const drawEfficacy = (): number => fromLogit(mean + season.sdBetweenYards * drawNormal(uniform));
  const sums = { middle: 0, nextYard: 0, share: 0, estimate: 0, verdicts: 0, estimates: 0 };
  for (let run = 0; run < season.runs; run += 1) {
    const yards = Array.from({ length: season.yards }, (_, yard) =>
      drawResult(uniform, `Y${yard}`, drawEfficacy()),
    );
    const [entry] = seasonReport(yards);
    if (!entry?.intervalOfMiddleYard || !entry.predictionForNextYard || !entry.shareOfYardsBelowLine)
      continue;
    const holds = ([low, high]: readonly [number, number], truth: number): number =>
      Number(low <= truth && truth <= high);
    sums.middle += holds(entry.intervalOfMiddleYard, season.efficacyOfMiddleYard);
    sums.nextYard += holds(entry.predictionForNextYard, drawEfficacy());
    sums.share += holds(entry.shareOfYardsBelowLine.interval, trueShare);
    sums.estimate += entry.shareOfYardsBelowLine.estimate;
    sums.verdicts += entry.misleadingCounts.yardsWithVerdictBelowLine / season.yards;
    sums.estimates += entry.misleadingCounts.yardsWithEstimateBelowLine / season.yards;
  }
  const of = (sum: number): number => sum / season.runs;
  return {
    middle: of(sums.middle),
    nextYard: of(sums.nextYard),
    share: of(sums.share),
    trueShare,
    meanEstimate: of(sums.estimate),
    meanCountOfVerdicts: of(sums.verdicts),
    meanCountOfEstimates: of(sums.estimates),
  };
}
