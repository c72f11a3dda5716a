import { levelOfLook } from './looks.js';
import type { CupCount, EfficacyOptions, Recovery } from './types.js';

/** The largest count that is believed: a cup holds some 300 bees. */
export const COUNT_MAX = 10_000;

/** A cup whose numbers cannot be: names the yard, the cup and the field. */
export class CountError extends Error {
  override readonly name = 'CountError';
  constructor(
    readonly yard: string,
    readonly cup: string,
    readonly field: 'cup' | 'tray' | 'wash' | 'bees',
    /** What is wrong, to follow the field's name: "is -1; a count is a whole number from 0 to 10000". */
    readonly problem: string,
  ) {
    super(`cup ${cup} of yard ${yard}: ${field} ${problem}`);
  }
}

const COUNT_RULE = `a count is a whole number from 0 to ${COUNT_MAX}, or nothing when it was not read`;

function checkCup(cup: CupCount): void {
  const refuse = (field: 'tray' | 'wash' | 'bees', problem: string): never => {
    throw new CountError(cup.yard, cup.cup, field, problem);
  };
  for (const field of ['tray', 'wash', 'bees'] as const) {
    const count = cup[field];
    if (count !== null && !(Number.isInteger(count) && count >= 0 && count <= COUNT_MAX))
      refuse(field, `is ${count}; ${COUNT_RULE}`);
  }
  const mites = (cup.tray ?? 0) + (cup.wash ?? 0);
  if (cup.bees !== null && cup.bees < mites)
    refuse('bees', `is ${cup.bees}, fewer than its ${mites} mites; look for swapped columns or a slip`);
}

/** Throws a CountError for the first impossible cup and for a cup named twice in a yard. */
export function checkCups(cups: readonly CupCount[]): void {
  const seen = new Set<string>();
  for (const cup of cups) {
    checkCup(cup);
    const name = JSON.stringify([cup.yard, cup.cup]);
    if (seen.has(name))
      throw new CountError(cup.yard, cup.cup, 'cup', 'is named twice; each cup of a yard has one row');
    seen.add(name);
  }
}

/** The options with nothing left open. */
export interface Settings {
  readonly line: number;
  readonly minCups: number;
  readonly minMites: number;
  readonly level: number;
  readonly recovery: Recovery | null;
  /** How often the result of a yard is looked at in all. */
  readonly looksOf: (yard: string) => number;
}

function checkRecovery(recovery: Recovery): void {
  if ('q' in recovery) {
    if (!(recovery.q > 0 && recovery.q <= 1))
      throw new RangeError(`the recovery is ${recovery.q}; it must lie above 0 and at most at 1`);
    return;
  }
  const whole = (count: number): boolean => Number.isInteger(count) && count >= 0;
  if (!whole(recovery.first) || !whole(recovery.second) || recovery.first === 0)
    throw new RangeError(
      `the washes are ${recovery.first} and ${recovery.second}; they must be whole numbers, the first above 0`,
    );
}

/** The options with their defaults; a RangeError for one that cannot be. */
export function settle(options: EfficacyOptions): Settings {
  const { line = 0.7, minCups = 5, minMites = 20, level = 0.95, recovery = null } = options;
  for (const [name, share] of Object.entries({ line, level }))
    if (!(share > 0 && share < 1))
      throw new RangeError(`the ${name} is ${share}; it must lie between 0 and 1, as 0.7 for 70 %`);
  for (const [name, count] of Object.entries({ minCups, minMites }))
    if (!(Number.isInteger(count) && count >= 0))
      throw new RangeError(`${name} is ${count}; it must be a whole number from 0`);
  if (recovery) checkRecovery(recovery);
  const { looks = 1 } = options;
  for (const count of typeof looks === 'number' ? [looks] : Object.values(looks)) levelOfLook(level, count);
  const looksOf = (yard: string): number =>
    typeof looks === 'number' ? looks : Object.hasOwn(looks, yard) ? (looks[yard] ?? 1) : 1;
  return { line, minCups, minMites, level, recovery, looksOf };
}
