import type { Fact, RecordedFact } from '../store/facts.js';
import type { CarrierId } from '../units/ids.js';
import { later, minutes, seconds, type UtcMs } from '../units/time.js';
import type { Season } from './season.js';
import { type ObservationsOf, probeIn } from './slots.js';

/** What a person needs to tell which cup a press of the button was for. Nothing here is set by itself. */
export interface MarkOffer {
  readonly at: UtcMs;
  readonly isProven: boolean;
  /** Which boot of the board, and how long after its beginning: what is sure even when `at` is not. */
  readonly boot: number;
  readonly boardMs: number;
  /** Slots whose temperature changed around the press, the largest change first. */
  readonly steps: readonly Step[];
  /** What is on record already within a few minutes of it. */
  readonly known: readonly { readonly cup: string; readonly did: string; readonly at: UtcMs }[];
}

export interface Step {
  readonly carrier: CarrierId;
  readonly slot: number;
  /** Mean of the minutes after minus mean of the minutes before, degrees Celsius. */
  readonly change: number;
}

/** A smaller change is the weather (j); degrees Celsius. */
export const STEP_MIN = 1.5;
const BEFORE = { from: minutes(-4), to: seconds(-15) };
/** A cup and its probe need a while to come together. */
const AFTER = { from: minutes(2), to: minutes(6) };
const NEAR = minutes(3);

type MarkFact = Extract<Fact, { type: 'mark-stamped' }>;

/** The offer for one mark of a board. */
export function offerFor(
  mark: MarkFact,
  season: Season,
  facts: readonly RecordedFact[],
  observationsOf: ObservationsOf,
): MarkOffer {
  const { at, isProven, boot, boardMs } = mark;
  return {
    at,
    isProven,
    boot,
    boardMs,
    steps: isProven ? stepsAround(mark, season, observationsOf) : [],
    known: facts.flatMap(({ fact }) =>
      'cup' in fact && fact.type.startsWith('cup-') && Math.abs(fact.at - at) <= NEAR
        ? [{ cup: fact.cup, did: fact.type.slice('cup-'.length), at: fact.at }]
        : [],
    ),
  };
}

function stepsAround({ at, board }: MarkFact, season: Season, observationsOf: ObservationsOf): Step[] {
  const steps: Step[] = [];
  for (const carrier of season.carriers.values()) {
    if (carrier.board !== board) continue;
    for (const slot of carrier.slots.keys()) {
      const rom = probeIn(carrier, slot, at);
      if (rom === null) continue;
      const mean = (window: typeof BEFORE) => {
        const values = observationsOf(rom)
          .filter((each) => each.at >= later(at, window.from) && each.at <= later(at, window.to))
          .map(({ celsius }) => celsius as number);
        return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
      };
      const [before, after] = [mean(BEFORE), mean(AFTER)];
      if (before === null || after === null || Math.abs(after - before) < STEP_MIN) continue;
      steps.push({ carrier: carrier.carrier, slot, change: after - before });
    }
  }
  return steps.sort((a, b) => Math.abs(b.change) - Math.abs(a.change));
}
