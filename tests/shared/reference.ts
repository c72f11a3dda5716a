import { readFileSync } from 'node:fs';
import { type CupCount, efficacyReport, type Share, type YardEntry } from '../../shared/index.js';

const read = (name: string): unknown =>
  JSON.parse(readFileSync(new URL(`../reference/${name}`, import.meta.url), 'utf8'));

type Pair = [number, number];

/** Computed by R 4.2.2; see tests/reference/assay-sources.md. */
export const R = read('assay-reference.json') as {
  intervals: { x: number; n: number; wilson: Pair; wilsonCC: Pair; clopperPearson: Pair; jeffreys: Pair }[];
  clustered: {
    name: string;
    k: number;
    x: number[];
    n: number[];
    pooled: number;
    meanOfRatios: number;
    deff: number;
    nEff: number;
    wilsonDeffZ: Pair;
    wilsonDeffT: Pair;
    bbMu: number;
    bbRho: number;
  }[];
};

/** Computed by tests/reference/assay-check.py with SciPy 1.17.1. */
export const SCIPY = read('assay-check.json') as {
  quantiles: Record<
    'normal' | 't' | 'beta' | 'gamma',
    { p: number; a: number | null; b: number | null; value: number }[]
  >;
  yards: {
    name: string;
    efficacy: number;
    designEffect: number;
    effectiveMites: number;
    interval: Pair;
    naiveInterval: Pair;
    moreCups: number | null;
    byGroup: { k: number; designEffect: number; interval: Pair };
    infestation: { per100: number; interval: Pair };
    recovery: { q: number; efficacyCorrected: number; interval: Pair };
  }[];
  moreCups: { name: string; cups: Pair[]; moreCups: number | null }[];
  betaBinomial: { name: string; cups: Pair[]; mu: number; rho: number }[];
  poisson: { mites: number; bees: number; interval: Pair }[];
  widened: { mites: number; bees: number; cv: number; interval: Pair }[];
};

/** Real cups; attribution in the file and in tests/reference/assay-sources.md. */
const REAL = read('assay-cups.json') as {
  cups: {
    colony: string;
    yard: string;
    parent: string;
    tray: number;
    wash: number;
    workers: number;
    drones: number;
    queens: number;
  }[];
};

export const realCups = (yard: string): CupCount[] =>
  REAL.cups
    .filter((cup) => cup.yard === yard)
    .map((cup) =>
      strip(cup.tray, cup.wash, {
        yard,
        cup: cup.colony,
        colony: cup.colony,
        group: cup.parent,
        bees: cup.workers + cup.drones + cup.queens,
      }),
    );

export const shares = (x: readonly number[], n: readonly number[]): Share[] =>
  x.map((part, i) => ({ part, whole: n[i] ?? 0 }));

let made = 0;

/** A valid strip cup with a label of its own. */
export function strip(tray: number | null, wash: number | null, more: Partial<CupCount> = {}): CupCount {
  made += 1;
  return {
    yard: 'Y',
    cup: `made-${made}`,
    kind: 'strip',
    tray,
    wash,
    bees: null,
    arm: null,
    colony: null,
    group: null,
    ruling: 'valid',
    ...more,
  };
}

/** A valid cup without strip. */
export const noStrip = (tray: number | null, wash: number | null, more: Partial<CupCount> = {}): CupCount =>
  strip(tray, wash, { kind: 'no-strip', ...more });

/** Every number inside plain data. */
export function numbersIn(data: unknown): number[] {
  if (typeof data === 'number') return [data];
  if (typeof data !== 'object' || data === null) return [];
  return Object.values(data).flatMap(numbersIn);
}

/** The first entry of the report on these cups. */
export const entryOf = (cups: readonly CupCount[], options = {}): YardEntry => {
  const [entry] = efficacyReport(cups, options).yards;
  if (entry === undefined) throw new Error('no entry');
  return entry;
};

/** Six cups of seven or eight fallen of ten. */
export const sixCups = (more: Partial<CupCount> = {}): CupCount[] =>
  [7, 8, 7, 8, 7, 8].map((tray) => strip(tray, 10 - tray, more));
