import { durationMs, later, MS_PER_MINUTE, parseInstant, type UtcMs } from '../../units/time.js';
import { type BenchMove, createBench, type Medium } from '../probeBench.js';
import type { Scenario } from '../scenario.js';
import { carrierOf, probeIn, SLOTS } from './carriers.js';

/** What is done on a bench with the probes of carrier A, in minutes since its start. */
export interface BenchPlan {
  readonly name: string;
  /** One sentence for people who choose a scenario. */
  readonly summary: string;
  readonly minutes: number;
  /** Whether it is known already which probe sits in which slot. */
  readonly isAssigned: boolean;
  readonly seed: number;
  /** What all begin in. */
  readonly from: Medium;
  readonly moves: readonly {
    readonly minute: number;
    /** Slots whose probes are moved; all when left out. */
    readonly slots?: readonly number[];
    readonly into: Medium;
  }[];
}

/** The evening before the cold morning: the same carrier, the same probes. */
const EVENING = parseInstant('2026-05-11T18:00:00-05:00') as UtcMs;

const ROOM: Medium = { celsius: 20, seconds: 240 };
const ICE: Medium = { celsius: 0, seconds: 20 };
const HAND: Medium = { celsius: 33, seconds: 25 };
const BATH: Medium = { celsius: 18, seconds: 15 };
const CUPS: Medium = { celsius: 18.5, seconds: 240, secondsSpread: 0.1, places: 0.2 };
const WARM_BATH: Medium = { celsius: 36, seconds: 15 };
const ALL = Array.from({ length: SLOTS }, (_, index) => index + 1);
/** Each probe is held for a minute, and left alone for another. */
const HELD_MINUTES = 1;
const HELD_EVERY = 2;

/** Every bench there is: for each thing that is done with probes, one that goes well and one that must be refused. */
export const BENCH_PLANS: readonly BenchPlan[] = [
  {
    name: 'ice-bath',
    summary: 'All probes go into stirred ice water after a minute.',
    minutes: 30,
    isAssigned: true,
    seed: 21,
    from: ROOM,
    moves: [{ minute: 1, into: ICE }],
  },
  {
    name: 'ice-unstirred',
    summary: 'The same, but nobody stirs, and half of the probes lie in layers that move.',
    minutes: 9,
    isAssigned: true,
    seed: 22,
    from: ROOM,
    moves: [
      { minute: 1, into: ICE },
      { minute: 1, slots: [6, 7, 8, 9, 10], into: { ...ICE, celsius: 0.3, waves: 0.25 } },
    ],
  },
  {
    name: 'warm-hand',
    summary:
      'The probes are held in a hand one after the other, a minute each; their slots are not known yet.',
    minutes: 1 + SLOTS * HELD_EVERY,
    isAssigned: false,
    seed: 23,
    from: ROOM,
    moves: ALL.flatMap((slot) => [
      { minute: 1 + (slot - 1) * HELD_EVERY, slots: [slot], into: HAND },
      { minute: 1 + (slot - 1) * HELD_EVERY + HELD_MINUTES, slots: [slot], into: ROOM },
    ]),
  },
  {
    name: 'two-hands',
    summary: 'Two probes are held at once.',
    minutes: 4,
    isAssigned: false,
    seed: 24,
    from: ROOM,
    moves: [
      { minute: 1, slots: [3, 4], into: HAND },
      { minute: 2, slots: [3, 4], into: ROOM },
    ],
  },
  {
    name: 'bath-then-cups',
    summary: 'All probes lie in one stirred bath, then sit in their slots in empty cups.',
    minutes: 24,
    isAssigned: true,
    seed: 25,
    from: ROOM,
    moves: [
      { minute: 0.5, into: BATH },
      { minute: 5, into: CUPS },
    ],
  },
  {
    name: 'bath-unstirred',
    summary: 'All probes lie in a bath that nobody stirs.',
    minutes: 6,
    isAssigned: true,
    seed: 26,
    from: ROOM,
    moves: [{ minute: 0.5, into: { ...BATH, waves: 0.3 } }],
  },
  {
    name: 'bath-drifting',
    summary: 'All probes lie in a stirred bath that warms by 0.4 °C a minute.',
    minutes: 6,
    isAssigned: true,
    seed: 27,
    from: ROOM,
    moves: [{ minute: 0.5, into: { ...BATH, perMinute: 0.4 } }],
  },
  {
    name: 'warm-to-cups',
    summary: 'All probes go from a warm bath into empty cups: a step.',
    minutes: 20,
    isAssigned: true,
    seed: 28,
    from: WARM_BATH,
    moves: [{ minute: 1, into: { ...CUPS, celsius: 20 } }],
  },
  {
    name: 'weak-step',
    summary: 'The same from a bath that is hardly warmer than the cups.',
    minutes: 8,
    isAssigned: true,
    seed: 29,
    from: { ...WARM_BATH, celsius: 23 },
    moves: [{ minute: 1, into: { ...CUPS, celsius: 20 } }],
  },
];

/** Makes the scenario. @param start the evening before the cold morning when left out */
export function bench(plan: BenchPlan, start: UtcMs = EVENING): Scenario {
  const at = (minute: number) => later(start, durationMs(minute * MS_PER_MINUTE));
  const romsOf = (slots: readonly number[]) => slots.map((slot) => probeIn('A', slot));
  const moves: BenchMove[] = [
    { at: start, roms: romsOf(ALL), into: plan.from },
    ...plan.moves.map(({ minute, slots, into }) => ({ at: at(minute), roms: romsOf(slots ?? ALL), into })),
  ];
  return {
    name: plan.name,
    summary: plan.summary,
    start,
    end: at(plan.minutes),
    carriers: [{ ...carrierOf('A', []), isAssigned: plan.isAssigned }],
    crew: [],
    vehicle: () => createBench({ start, end: at(plan.minutes), moves, seed: plan.seed }),
  };
}
