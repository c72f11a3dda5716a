import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { DayQuestion, PlannedCup, PlannedSlot, PlannedYard } from '../../src/plan/day.js';
import { planDay } from '../../src/plan/day.js';
import { planLabels, type ReadyCup, readyCups } from '../../src/plan/planned.js';
import { parseCarrierId, parseVisitId, parseYardCode } from '../../src/units/ids.js';
import { minutes, parseInstant, type UtcMs } from '../../src/units/time.js';

/** Invented plans of 13 May 2026, on a clock five hours behind UTC. */
export const ZONE = 'Etc/GMT+5';
export const at = (time: string): UtcMs => parseInstant(`2026-05-13T${time}:00-05:00`)!;

export const CUP: PlannedCup = { kind: 'strip', colony: null, group: null, active: null, lot: null };
/** Two cups of each of so many colonies. */
export const twoEach = (colonies: number): PlannedCup[] =>
  Array.from({ length: 2 * colonies }, (_, index) => ({ ...CUP, colony: `c${1 + Math.floor(index / 2)}` }));

export const yard = (code: string, cups: number | readonly PlannedCup[], driveMinutes = 0): PlannedYard => ({
  visit: parseVisitId(`260513-${code}`)!,
  yard: parseYardCode(code)!,
  cups: typeof cups === 'number' ? Array.from({ length: cups }, () => CUP) : cups,
  notBefore: null,
  drive: minutes(driveMinutes),
});

export const slots = (...carriers: readonly (readonly [string, number])[]): PlannedSlot[] =>
  carriers.flatMap(([name, count]) =>
    Array.from({ length: count }, (_, index) => ({ carrier: parseCarrierId(name)!, slot: index + 1 })),
  );

export const question = (change: Partial<DayQuestion>): DayQuestion => ({
  yards: [yard('alder-07', 10)],
  slots: slots(['A', 10], ['B', 10]),
  start: at('07:00'),
  until: at('18:00'),
  takeCup: minutes(3),
  turnCup: minutes(2),
  rules: DEFAULT_RULES,
  ...change,
});

/** Cups of such a day with labels. */
export const ready = (change: Partial<DayQuestion> = {}): ReadyCup[] => {
  const day = planDay(question(change));
  return readyCups(day, planLabels('2026-05-13', '7KQ2MH', day.cups.length), {
    zone: ZONE,
    rules: 'default 1',
  });
};
