import type { Bar } from '../../shared/index.js';

/** How many mites the cups of a yard are expected to hold. */
export type ExpectedMites =
  | {
      readonly kind: 'uneven';
      /** Mites on 100 bees. */
      readonly per100: number;
      readonly bees: number;
      /** Size of the negative binomial between colonies; smaller is more uneven. */
      readonly size: number;
    }
  /** The same number in each cup. */
  | { readonly kind: 'same'; readonly mites: number };

/** The mean over cups. */
export const mitesPerCup = (expected: ExpectedMites): number =>
  expected.kind === 'same' ? expected.mites : (expected.per100 * expected.bees) / 100;

/** What a chance of a decision rests on. */
export interface Assumed {
  /** Cups with a strip, before any is lost. */
  readonly cups: number;
  /** Of each colony; its cups are one cluster. */
  readonly cupsAColony: number;
  /** Share of cups that will not count: cold, hot, spilled, not read; each by itself. */
  readonly lost: number;
  /** How alike two mites of a colony are in falling or not, from 0 to 1. */
  readonly rho: number;
  /** The verdict's, as the rule set has them. */
  readonly bar: Bar;
  readonly level: number;
}

/** Between the two yards that were measured: 0.015 and 0.199 (data DOI 10.5281/zenodo.15733143); judgement. */
export const RHO_DEFAULT = 0.1;
/** Real cups of four yards, mean 9.4 and up to 32 mites, are about so uneven; judgement. */
export const SIZE_DEFAULT = 1.5;
/** Bees of half a cup (common practice, no source). */
export const BEES_DEFAULT = 300;
/** Judgement. */
export const LOST_DEFAULT = 0.1;
/** Beyond this many cups in a yard nothing is asked for. */
export const CUPS_MAX = 100;

/** How likely each verdict is; the four add up to 1. */
export interface VerdictChances {
  readonly aboveLine: number;
  readonly undecided: number;
  readonly belowLine: number;
  readonly tooFew: number;
}

/** The chance of the verdict that is right: a true efficacy at the line counts as above it. */
export const rightChance = (chances: VerdictChances, efficacy: number, line: number): number =>
  efficacy < line ? chances.belowLine : chances.aboveLine;
