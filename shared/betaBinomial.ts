import type { Share } from './clusters.js';
import { crossing } from './roots.js';
import type { BetaBinomial } from './types.js';

/**
 * The beta-binomial as a check model: cup i has its own efficacy, drawn from a beta distribution with mean mu
 * and intra-cup correlation rho, so that the variance is N mu (1-mu) (1 + (N-1) rho).
 *
 * The likelihood is written as products of (mu (1-rho) + j rho) and the like. These stay finite at rho = 0,
 * the binomial, where the usual form in a = mu (1-rho)/rho runs off to infinite shapes.
 */

/** How many counts exceed 1, 2, 3 ...: element i belongs to j = i + 1. */
function exceedances(counts: readonly number[]): number[] {
  const result = new Array<number>(Math.max(0, ...counts.map((count) => count - 1))).fill(0);
  for (const count of counts) if (count > 1) result[count - 2] = (result[count - 2] ?? 0) + 1;
  for (let i = result.length - 2; i >= 0; i -= 1) result[i] = (result[i] ?? 0) + (result[i + 1] ?? 0);
  return result;
}

/** What the likelihood needs to know of the cups. */
interface Tally {
  /** Cups in which at least one mite fell, at least one survived, and both. */
  readonly someFell: number;
  readonly someSurvived: number;
  readonly mixed: number;
  readonly fell: readonly number[];
  readonly survived: readonly number[];
  readonly mites: readonly number[];
}

function tally(cups: readonly Share[]): Tally {
  const fell = cups.map(({ part }) => part);
  const survived = cups.map(({ part, whole }) => whole - part);
  const positive = (counts: readonly number[]): number => counts.filter((count) => count > 0).length;
  return {
    someFell: positive(fell),
    someSurvived: positive(survived),
    mixed: cups.filter(({ part, whole }) => part > 0 && part < whole).length,
    fell: exceedances(fell),
    survived: exceedances(survived),
    mites: exceedances(cups.map(({ whole }) => whole)),
  };
}

/** Sum over j = 1, 2 ... of weight(j) x term(j). */
function weighted(weights: readonly number[], term: (j: number) => number): number {
  let sum = 0;
  for (let i = 0; i < weights.length; i += 1) sum += (weights[i] ?? 0) * term(i + 1);
  return sum;
}

/** The log likelihood without its constant. At rho = 1 it is finite only when no cup is mixed. */
function logLikelihood(t: Tally, mu: number, rho: number): number {
  const own = 1 - rho;
  return (
    t.someFell * Math.log(mu) +
    t.someSurvived * Math.log(1 - mu) +
    (t.mixed > 0 ? t.mixed * Math.log(own) : 0) +
    weighted(t.fell, (j) => Math.log(mu * own + j * rho)) +
    weighted(t.survived, (j) => Math.log((1 - mu) * own + j * rho)) -
    weighted(t.mites, (j) => Math.log(own + j * rho))
  );
}

/** The derivative of the log likelihood by rho; rho below 1. */
function slopeByRho(t: Tally, mu: number, rho: number): number {
  const own = 1 - rho;
  return (
    -t.mixed / own +
    weighted(t.fell, (j) => (j - mu) / (mu * own + j * rho)) +
    weighted(t.survived, (j) => (j - (1 - mu)) / ((1 - mu) * own + j * rho)) -
    weighted(t.mites, (j) => (j - 1) / (own + j * rho))
  );
}

/** The most likely mu at a given rho: the likelihood is concave in mu, so its slope crosses zero once. */
function bestMu(t: Tally, rho: number): number {
  const own = 1 - rho;
  const slope = (mu: number): number =>
    t.someFell / mu -
    t.someSurvived / (1 - mu) +
    weighted(t.fell, (j) => own / (mu * own + j * rho)) -
    weighted(t.survived, (j) => own / ((1 - mu) * own + j * rho));
  return crossing(slope, 0, 1);
}

/** Where the profile likelihood is searched for turning points: dense near 0, where rho usually lies. */
const RHO_GRID = Array.from({ length: 41 }, (_, i) => (i / 40) ** 2 * 0.9999);
/** A rho above 0 must be more likely than the binomial by more than rounding. */
const LIKELIHOOD_ROUNDING = 1e-10;

/**
 * Fits the beta-binomial to cups (`part` fallen of `whole` mites, `whole` above 0) by maximum likelihood with
 * 0 <= rho <= 1. When all or none fell, mu is that share and rho null; rho is null also when no cup holds two
 * mites. Null without cups. Every turning point of the profile likelihood on a grid is refined and compared
 * with both ends, so the fit neither runs off nor stops at a lower hill.
 */
export function fitBetaBinomial(cups: readonly Share[]): BetaBinomial | null {
  const fallen = cups.reduce((sum, { part }) => sum + part, 0);
  const mites = cups.reduce((sum, { whole }) => sum + whole, 0);
  if (mites === 0) return null;
  const pooled = fallen / mites;
  if (fallen === 0 || fallen === mites || cups.every(({ whole }) => whole <= 1))
    return { mu: pooled, rho: null };

  const t = tally(cups);
  const slope = (rho: number): number => slopeByRho(t, bestMu(t, rho), rho);
  const slopes = RHO_GRID.map(slope);
  const candidates = [0];
  for (let i = 0; i + 1 < RHO_GRID.length; i += 1)
    if ((slopes[i] ?? 0) > 0 && (slopes[i + 1] ?? 0) <= 0)
      candidates.push(crossing(slope, RHO_GRID[i] ?? 0, RHO_GRID[i + 1] ?? 0));
  if (t.mixed === 0) candidates.push(1);

  let best = { mu: pooled, rho: 0, logLikelihood: logLikelihood(t, pooled, 0) };
  for (const rho of candidates.slice(1)) {
    const mu = bestMu(t, rho);
    const value = logLikelihood(t, mu, rho);
    if (value > best.logLikelihood + LIKELIHOOD_ROUNDING) best = { mu, rho, logLikelihood: value };
  }
  return { mu: best.mu, rho: best.rho };
}
