import type { CupPlan, MorningPlan, VisitPlan } from './morning.js';

/**
 * What the cold morning and its negative control have in common: the vehicle, whose carrier B leaks at slots 1 to 4, the
 * crew's times, and a cup that is moved from B to A on the way.
 */
export const TWO_YARDS = {
  from: '07:00',
  to: '11:22',
  startDegrees: 27,
  draughts: [1, 2, 3, 4].map((slot) => ({ carrier: 'B', slot, wattsPerKelvin: 0.15 })),
  moves: [{ at: '10:12', from: { carrier: 'B', slot: 9 }, to: { carrier: 'A', slot: 3 } }],
} as const satisfies Partial<MorningPlan>;

interface YardPlan {
  readonly yard: string;
  readonly cups: readonly CupPlan[];
}

/** The visits to the two yards: the first one's cups ride in carrier A, the second one's in B. */
export const twoVisits = (first: YardPlan, second: YardPlan): VisitPlan[] => [
  {
    ...first,
    lot: 'P-2214',
    carrier: 'A',
    opened: '07:00',
    firstLoad: '07:02',
    firstCount: '10:32',
    closed: '11:20',
  },
  {
    ...second,
    lot: 'P-2214',
    carrier: 'B',
    opened: '07:38',
    firstLoad: '07:40',
    firstCount: '11:08',
    closed: '11:20',
  },
];
