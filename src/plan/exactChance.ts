import { clusteredEfficacy, decide, type Share, type Verdict } from '../../shared/index.js';
import type { Assumed, VerdictChances } from './assumed.js';

/**
 * The chances of the verdicts, exactly, for cups from a colony each that all hold the same number of mites. How a yard is
 * judged then depends on its cups, the sum of what fell and the sum of its squares alone, so that yards of equal sums are
 * one state; the core judges one yard of each.
 */

/** Cups times mites; beyond this the states are too many to be worth it. */
export const EXACT_MITES_MAX = 100;

export const isExact = ({ cups, cupsAColony }: Assumed, mites: number): boolean =>
  cupsAColony === 1 && cups * mites <= EXACT_MITES_MAX;

/** A way to the state: one more cup of which `fell` mites fell. */
interface State {
  readonly sum: number;
  readonly squares: number;
  readonly before: State | null;
  readonly fell: number;
}

const START: State = { sum: 0, squares: 0, before: null, fell: 0 };

/** States of one cup, two cups, ... up to `cups`, and how each was judged. */
interface Layer {
  readonly states: readonly State[];
  readonly verdicts: readonly Verdict[];
  /** For each state of the layer before and each number that fell, the state it leads to. */
  readonly leadsTo: readonly (readonly number[])[];
}

function layersOf(assumed: Assumed, mites: number): Layer[] {
  const layers: Layer[] = [{ states: [START], verdicts: [judged(START, assumed, mites)], leadsTo: [] }];
  for (let cups = 1; cups <= assumed.cups; cups += 1) {
    const index = new Map<string, number>();
    const states: State[] = [];
    const leadsTo = layers[cups - 1]!.states.map((before) =>
      Array.from({ length: mites + 1 }, (_, fell) => {
        const [sum, squares] = [before.sum + fell, before.squares + fell * fell];
        const key = `${sum} ${squares}`;
        const known = index.get(key);
        if (known !== undefined) return known;
        index.set(key, states.length);
        states.push({ sum, squares, before, fell });
        return states.length - 1;
      }),
    );
    layers.push({ states, leadsTo, verdicts: states.map((state) => judged(state, assumed, mites)) });
  }
  return layers;
}

function judged(state: State, { bar, level }: Assumed, mites: number): Verdict {
  const cups: Share[] = [];
  for (let at = state; at.before !== null; at = at.before) cups.push({ part: at.fell, whole: mites });
  const { interval, mites: all } = clusteredEfficacy(cups, level);
  return decide({ interval, cupsWithMites: mites > 0 ? cups.length : 0, mites: all }, bar);
}

/** The beta-binomial chances that 0, 1, ... of so many mites fall, by the same urn that draws them. */
export function fallChances(mites: number, mu: number, rho: number): number[] {
  let chances = [1];
  for (let drawn = 0; drawn < mites; drawn += 1) {
    const next = new Array<number>(drawn + 2).fill(0);
    for (const [fallen, chance] of chances.entries()) {
      const falls = (mu * (1 - rho) + rho * fallen) / (1 - rho + rho * drawn);
      next[fallen] = next[fallen]! + chance * (1 - falls);
      next[fallen + 1] = next[fallen + 1]! + chance * falls;
    }
    chances = next;
  }
  return chances;
}

/** The chances that 0, 1, ... of so many things happen, each with that chance, independently. */
export const binomialChances = (count: number, chance: number): number[] => fallChances(count, chance, 0);

/** For each true efficacy the chances of the verdicts, exactly. */
export function exactChances(
  assumed: Assumed,
  mites: number,
  efficacies: readonly number[],
): VerdictChances[] {
  const layers = layersOf(assumed, mites);
  const left = binomialChances(assumed.cups, 1 - assumed.lost);
  return efficacies.map((efficacy) => {
    const fall = fallChances(mites, efficacy, assumed.rho);
    const chances: Record<Verdict, number> = {
      'above-line': 0,
      undecided: 0,
      'below-line': 0,
      'too-few': 0,
    };
    let now = [1];
    for (const [cups, { states, verdicts, leadsTo }] of layers.entries()) {
      if (cups > 0) now = moved(now, leadsTo, fall, states.length);
      for (const [index, chance] of now.entries()) chances[verdicts[index]!] += left[cups]! * chance;
    }
    return {
      aboveLine: chances['above-line'],
      undecided: chances.undecided,
      belowLine: chances['below-line'],
      tooFew: chances['too-few'],
    };
  });
}

function moved(
  now: readonly number[],
  leadsTo: readonly (readonly number[])[],
  fall: readonly number[],
  states: number,
): number[] {
  const next = new Array<number>(states).fill(0);
  for (const [from, chance] of now.entries())
    for (const [fell, to] of leadsTo[from]!.entries()) next[to] = next[to]! + chance * fall[fell]!;
  return next;
}
