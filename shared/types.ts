import type { ArmDifference } from './arms.js';
import type { Looks } from './looks.js';

/** Why a cup counts (`valid`) or does not. */
export const RULINGS = ['valid', 'cold', 'hot', 'short', 'long', 'unproven', 'spoiled'] as const;
export type Ruling = (typeof RULINGS)[number];

export type Kind = 'strip' | 'no-strip';

export type Verdict = 'above-line' | 'undecided' | 'below-line' | 'too-few';

/** Lower and upper limit. */
export type Interval = readonly [number, number];

/** One cup as counted. A count that was not read is null; it is never 0. */
export interface CupCount {
  readonly yard: string;
  /** Unique within its yard. */
  readonly cup: string;
  readonly kind: Kind;
  /** Mites on the tray when the cup was turned. */
  readonly tray: number | null;
  /** Mites washed off the bees afterwards: the survivors. */
  readonly wash: number | null;
  readonly bees: number | null;
  /** Cups of different arms never pool. */
  readonly arm: string | null;
  /** Cups of one colony are one cluster. */
  readonly colony: string | null;
  /** The mother line; it never splits an entry. */
  readonly group: string | null;
  readonly ruling: Ruling;
  /** True when the mean of the exposure was cool; it never rules, but the entry says so. */
  readonly cool?: boolean | undefined;
}

/**
 * How much of what is there the wash finds: the share `q` itself, above 0 and at most 1, or the mites found
 * in a first and in a second wash of the same cups, from which q = first / (first + second).
 */
export type Recovery = { readonly q: number } | { readonly first: number; readonly second: number };

export interface EfficacyOptions {
  /** The efficacy below which a product counts as failing, between 0 and 1. Default 0.7. */
  readonly line?: number | undefined;
  /** Strip cups with mites that a verdict needs. Default 5. */
  readonly minCups?: number | undefined;
  /** Mites in them that a verdict needs. Default 20. */
  readonly minMites?: number | undefined;
  /** Of every interval, between 0 and 1. Default 0.95. */
  readonly level?: number | undefined;
  readonly recovery?: Recovery | undefined;
  /**
   * How often the result is looked at in all, for every yard or by yard (1 for one that is not named): 1 as
   * long as no cup beyond the number declared at the visit's opening counts. With more, every interval of the
   * efficacy has the level `levelOfLook` gives. Default 1.
   */
  readonly looks?: number | Readonly<Record<string, number>> | undefined;
}

/** How many strip cups an entry has; `unread` and `empty` (no mites) are part of `valid`. */
export interface CupTally {
  readonly valid: number;
  readonly excluded: number;
  readonly unread: number;
  readonly empty: number;
}

/** The check model; `rho` is the correlation of two mites of one cup, null when nothing can be seen of it. */
export interface BetaBinomial {
  readonly mu: number;
  readonly rho: number | null;
}

/** The same estimate with mother lines as clusters. */
export interface ByGroup {
  readonly k: number;
  readonly designEffect: number | null;
  readonly interval: Interval | null;
}

/** The estimate from every read strip cup that is not spoiled. */
export interface AllCups {
  readonly efficacy: number | null;
  readonly interval: Interval | null;
  readonly verdict: Verdict;
}

/** Valid read cups without strip, and the efficacy corrected for what fell in them. */
export interface Control {
  readonly cups: number;
  readonly tray: number;
  readonly wash: number;
  /** tray / (tray + wash); null without mites. */
  readonly fall: number | null;
  /** Wilson's, every mite taken as independent. */
  readonly fallInterval: Interval | null;
  /** Negative when more fell without the strip than with it. */
  readonly efficacyCorrected: number | null;
  readonly interval: Interval | null;
}

/** The efficacy corrected for survivors that the wash missed. */
export interface RecoveryResult {
  readonly q: number;
  /** Wilson's, from the two washes; null for a q that was given as a number, which is taken as known. */
  readonly qInterval: Interval | null;
  readonly efficacyCorrected: number | null;
  readonly interval: Interval | null;
}

export interface Infestation {
  /** Mites (tray + wash) per 100 bees. */
  readonly per100: number | null;
  readonly interval: Interval | null;
}

/** A yard and an arm. Efficacies are shares from 0 to 1. */
export interface YardEntry {
  readonly yard: string;
  readonly arm: string | null;
  readonly verdict: Verdict;
  readonly efficacy: number | null;
  readonly interval: Interval | null;
  readonly designEffect: number | null;
  readonly effectiveMites: number;
  readonly cups: CupTally;
  /** Sums over the valid cups that were read. */
  readonly tray: number;
  readonly wash: number;
  readonly naiveInterval: Interval | null;
  readonly meanOfCups: number | null;
  readonly betaBinomial: BetaBinomial | null;
  readonly byGroup: ByGroup | null;
  readonly moreCups: number | null;
  readonly allCups: AllCups;
  readonly control: Control | null;
  readonly infestation: Infestation;
  /** Only when a recovery was given. */
  readonly recovery?: RecoveryResult;
  /** Only with more than one look: how many, and the level of every interval of the efficacy. */
  readonly looks?: Looks;
  readonly remarks: readonly string[];
}

export interface CupEntry {
  readonly yard: string;
  readonly cup: string;
  readonly efficacy: number | null;
  readonly wilson: Interval | null;
  readonly clopperPearson: Interval | null;
  readonly jeffreys: Interval | null;
  readonly per100: number | null;
  readonly remarks: readonly string[];
}

/** What `efficacyReport` returns: plain data, ready for JSON, never a NaN. */
export interface EfficacyReport {
  readonly level: number;
  readonly yards: readonly YardEntry[];
  readonly cups: readonly CupEntry[];
  /** Only when a yard has strip cups of two or more arms. */
  readonly armDifferences?: readonly ArmDifference[];
}
