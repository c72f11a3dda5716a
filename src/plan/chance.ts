import { seededChance } from '../units/clock.js';
import {
  type Assumed,
  type ExpectedMites,
  mitesPerCup,
  rightChance,
  type VerdictChances,
} from './assumed.js';
import { cupsNeeded, drawnChances, errorOfDraws } from './drawnChance.js';
import { exactChances, isExact } from './exactChance.js';

/** What is asked of the evening before. */
export interface ChanceQuestion {
  readonly assumed: Assumed;
  readonly expected: readonly ExpectedMites[];
  /** True efficacies, ascending. */
  readonly efficacies: readonly number[];
  /** The chance of the right verdict that is wanted. */
  readonly want: number;
  /** Drawn yards for each chance, where it is not computed exactly. */
  readonly runs: number;
  readonly seed: number;
}

export interface ChanceAt extends VerdictChances {
  readonly efficacy: number;
  /** Of the verdict on the true side of the line. */
  readonly right: number;
  /** Cups that give the right verdict with the wanted chance; null beyond `CUPS_MAX`. */
  readonly cupsNeeded: number | null;
}

export interface ChancesOf {
  readonly expected: ExpectedMites;
  readonly mitesPerCup: number;
  /** How far a chance may be off, 19 times in 20; null when it was computed exactly. */
  readonly error: number | null;
  readonly at: readonly ChanceAt[];
  /** The cases that are clear; null when there are none on that side. */
  readonly clear: {
    /** So high a true efficacy, and every lower one asked for, is put below the line as often as wanted. */
    readonly upTo: number | null;
    /** So low a one, and every higher one, is put above it. */
    readonly from: number | null;
  };
}

/** Of yards for the number of cups; a chance near the wanted one is then known to 2.5 points (4 at the worst). */
export const RUNS_FOR_CUPS = 1000;

/** The same question is answered the same: chance is drawn from the seed alone, anew for each efficacy. */
export const chancesFor = (question: ChanceQuestion): ChancesOf[] =>
  question.expected.map((expected) => chancesOf(expected, question));

function chancesOf(expected: ExpectedMites, question: ChanceQuestion): ChancesOf {
  const { assumed, efficacies, want, runs, seed } = question;
  const exact =
    expected.kind === 'same' && isExact(assumed, expected.mites)
      ? exactChances(assumed, expected.mites, efficacies)
      : null;
  const at = efficacies.map((efficacy, index): ChanceAt => {
    const chances = exact?.[index] ?? drawnChances(assumed, expected, efficacy, runs, seededChance(seed));
    return {
      efficacy,
      ...chances,
      right: rightChance(chances, efficacy, assumed.bar.line),
      cupsNeeded: cupsNeeded(assumed, expected, efficacy, want, RUNS_FOR_CUPS, seededChance(seed)),
    };
  });
  return {
    expected,
    mitesPerCup: mitesPerCup(expected),
    error: exact === null ? errorOfDraws(runs) : null,
    at,
    clear: {
      upTo: lastClear(
        at.filter(({ efficacy }) => efficacy < assumed.bar.line),
        want,
      ),
      from: lastClear(at.filter(({ efficacy }) => efficacy >= assumed.bar.line).reverse(), want),
    },
  };
}

/** From the clearest case on, the last before the first that is not. */
function lastClear(from: readonly ChanceAt[], want: number): number | null {
  const open = from.findIndex(({ right }) => right < want);
  return from[(open === -1 ? from.length : open) - 1]?.efficacy ?? null;
}
