import { betweenYards, fromLogit, logit, logitYard } from './betweenYards.js';
import { grouped } from './entries.js';
import { settle } from './input.js';
import { levelInWords } from './looks.js';
import { clopperPearson } from './proportion.js';
import { type ShareBelow, shareBelow } from './shareBelow.js';
import type { EfficacyOptions, Interval, YardEntry } from './types.js';
import { percent } from './verdict.js';

/** What a season needs of the result of a yard and an arm; a `YardEntry` has it. */
export type SeasonYard = Pick<
  YardEntry,
  'yard' | 'arm' | 'verdict' | 'efficacy' | 'effectiveMites' | 'interval'
>;

/** A yard that the season's figures do not rest on, and why. */
export interface LeftOut {
  readonly yard: string;
  readonly why: string;
}

/**
 * Two ways to count yards that mislead, for comparison only. Verdicts below the line miss every failing yard
 * that was left undecided; point estimates below the line count luck as failure.
 */
export interface MisleadingCounts {
  readonly yardsWithVerdictBelowLine: number;
  readonly yardsWithEstimateBelowLine: number;
  readonly ofYards: number;
  /**
   * Exact (Clopper-Pearson) limits for the share of yards that would have an estimate below the line, from their number
   * alone; null without a yard. It takes nothing from how alike the yards are, so it stays honest where they are few.
   */
  readonly estimatesBelowLineInterval: Interval | null;
}

/** Below so many yards, the spread between them is hardly known (j). */
const FEW_YARDS = 8;

/** All yards of an arm. Efficacies are shares from 0 to 1. */
export interface SeasonEntry {
  readonly arm: string | null;
  /** Of every interval. */
  readonly level: number;
  /** How many yards the figures rest on. */
  readonly yards: number;
  readonly leftOut: readonly LeftOut[];
  /** The mean of the logits of the yards, back as a share: as many yards lie above it as below. */
  readonly efficacyOfMiddleYard: number | null;
  /** How well that middle is known; it says nothing about any one yard. */
  readonly intervalOfMiddleYard: Interval | null;
  /** Where the efficacy of one further yard lies; null below three yards. */
  readonly predictionForNextYard: Interval | null;
  /** Standard deviation of the logits between yards, and its limits. */
  readonly sdBetweenYards: number | null;
  readonly sdBetweenYardsInterval: Interval | null;
  readonly cochranQ: number | null;
  /** From the fitted distribution between yards; null below three yards. */
  readonly shareOfYardsBelowLine: ShareBelow | null;
  readonly misleadingCounts: MisleadingCounts;
  readonly remarks: readonly string[];
}

/**
 * The yards of a season together, one entry an arm in order of first appearance; arms never pool. Yards
 * without efficacy, and those with mites from one colony only, whose spread is unknown, are left out and
 * named. Throws a RangeError for an option that cannot be and for a yard that stands twice in an arm.
 * Formulas and sources: README.md.
 */
export function seasonReport(
  results: readonly SeasonYard[],
  options: Pick<EfficacyOptions, 'line' | 'level'> = {},
): SeasonEntry[] {
  const { line, level } = settle(options);
  return [...grouped(results, ({ arm }) => arm)].map(([arm, ofArm]) => seasonEntry(ofArm, arm, line, level));
}

function whyLeftOut({ efficacy, interval }: SeasonYard): string | null {
  if (efficacy === null) return 'no efficacy is known';
  if (interval === null) return 'all mites come from one colony';
  return null;
}

function checkOnce(results: readonly SeasonYard[]): void {
  const seen = new Set<string>();
  for (const { yard } of results) {
    if (seen.has(yard))
      throw new RangeError(`yard ${yard} stands twice in an arm; each yard counts once in a season`);
    seen.add(yard);
  }
}

function seasonEntry(
  results: readonly SeasonYard[],
  arm: string | null,
  line: number,
  level: number,
): SeasonEntry {
  checkOnce(results);
  const counted = results.filter((result) => whyLeftOut(result) === null);
  const yards = counted.map(({ efficacy, effectiveMites }) => logitYard(efficacy ?? 0, effectiveMites));
  const fit = betweenYards(yards, level);
  const estimatesBelow = counted.filter(({ efficacy }) => (efficacy ?? 0) < line).length;
  const misleadingCounts: MisleadingCounts = {
    yardsWithVerdictBelowLine: counted.filter(({ verdict }) => verdict === 'below-line').length,
    yardsWithEstimateBelowLine: estimatesBelow,
    ofYards: counted.length,
    estimatesBelowLineInterval:
      counted.length === 0 ? null : clopperPearson(estimatesBelow, counted.length, level),
  };
  const back = ([lower, upper]: Interval): Interval => [fromLogit(lower), fromLogit(upper)];
  return {
    arm,
    level,
    yards: counted.length,
    leftOut: results.flatMap((result) => {
      const why = whyLeftOut(result);
      return why === null ? [] : [{ yard: result.yard, why }];
    }),
    efficacyOfMiddleYard: fit === null ? null : fromLogit(fit.mean),
    intervalOfMiddleYard: fit === null ? null : back(fit.meanInterval),
    predictionForNextYard: fit?.prediction ? back(fit.prediction) : null,
    sdBetweenYards: fit?.sd ?? null,
    sdBetweenYardsInterval: fit?.sdInterval ?? null,
    cochranQ: fit?.cochranQ ?? null,
    shareOfYardsBelowLine: fit?.prediction ? shareBelow(yards, fit, logit(line), level) : null,
    misleadingCounts,
    remarks: [
      ...(fit?.prediction ? boldness(fit.sd, misleadingCounts, line, level) : []),
      ...seasonRemarks(counted, line),
    ],
  };
}

/**
 * Where yards are few, or no spread between them was found, the prediction and the share hold too seldom
 * (docs/statistics.md): the plain count beside them shows how little so few yards can say.
 */
function boldness(
  sd: number,
  { yardsWithEstimateBelowLine: below, ofYards, estimatesBelowLineInterval }: MisleadingCounts,
  line: number,
  level: number,
): string[] {
  if (estimatesBelowLineInterval === null || (sd > 0 && ofYards >= FEW_YARDS)) return [];
  const [lower, upper] = estimatesBelowLineInterval.map((limit) => `${Math.round(limit * 100)} %`);
  const leftOpen =
    below === 0
      ? `up to ${upper}`
      : below === ofYards
        ? `no more than ${lower}`
        : `anything from ${lower} to ${upper}`;
  const why =
    sd > 0
      ? `from ${ofYards} yards the spread between yards is hardly known`
      : 'no spread between the yards was found, which does not show that there is none';
  return [
    `${why}, so the prediction and the share may be too bold: ${below} of ${ofYards} estimates lie below the ${percent(line)} line, which leaves open that ${leftOpen} of all yards lie there (exact ${levelInWords(level)} range of the count)`,
  ];
}

function seasonRemarks(counted: readonly SeasonYard[], line: number): string[] {
  const remarks: string[] = [];
  const allOrNone = counted.filter(({ efficacy }) => efficacy === 0 || efficacy === 1).length;
  if (counted.length < 2) remarks.push('fewer than two yards: nothing can be said about the season');
  else if (counted.length === 2)
    remarks.push('two yards only: neither a prediction nor a share of yards can be given');
  if (allOrNone > 0)
    remarks.push(
      `in ${allOrNone} of the yards all mites or none fell; half a mite was added on either side there`,
    );
  if (counted.length >= 2)
    remarks.push(
      `the middle of the yards hides the yards; counting verdicts, or estimates under ${percent(line)}, misleads about how many yards fail`,
    );
  return remarks;
}
