import type { Observation } from '../exposure/types.js';
import type { Fact, RecordedFact } from '../store/facts.js';
import type { CarrierId } from '../units/ids.js';
import { between, inMinutes, later, minutes, seconds, type UtcMs } from '../units/time.js';
import type { Season } from './season.js';
import { type ObservationsOf, probeIn } from './slots.js';

/** What a person needs to tell which cup a press of the button was for. Nothing here is set by itself. */
export interface MarkOffer {
  readonly at: UtcMs;
  readonly isProven: boolean;
  /** Which boot of the board, and how long after its beginning: what is sure even when `at` is not. */
  readonly boot: number;
  readonly boardMs: number;
  /** How many slots have readings enough around the press to see a change in. */
  readonly compared: number;
  /** Slots whose temperature left its course at the press: those that fit no other press better first, then the largest change first. */
  readonly steps: readonly Step[];
  /** What is on record already within a few minutes of it. */
  readonly known: readonly { readonly cup: string; readonly did: string; readonly at: UtcMs }[];
}

export interface Step {
  readonly carrier: CarrierId;
  readonly slot: number;
  /**
   * How far the minutes after lie off the straight course of the minutes before, degrees Celsius; less what most slots of
   * the carrier did alike, as when a door is opened.
   */
  readonly change: number;
  /** The mark nearby, counted from 1, around which this slot left its course further; null when this one is it. */
  readonly moreAt: number | null;
}

/**
 * A smaller change is no cup, degrees Celsius (j). In the emulated cold morning slots that got a cup change by 0.2 to 1.2,
 * the others by less than 0.1; cups that came a little earlier still bend their slots.
 */
export const STEP_MIN = 0.25;
const BEFORE = { from: minutes(-4), to: seconds(-5) };
/** A cup and its probe need a while to come together; later the next cup has come. */
const AFTER = { from: minutes(1), to: minutes(3) };
/** Fewer readings show no course. */
const BEFORE_READINGS_MIN = 4;
/** Of fewer slots nobody can say what most of them did. */
const SLOTS_ALIKE_MIN = 5;
const NEAR = minutes(3);
/** A cup bends its slot's course for this long, before its press and after it. */
const BENDS = minutes(8);

type MarkFact = Extract<Fact, { type: 'mark-stamped' }>;

/** The offers for the marks of a board, in their order. */
export function offersFor(
  marks: readonly MarkFact[],
  season: Season,
  facts: readonly RecordedFact[],
  observationsAround: (at: UtcMs) => ObservationsOf,
): MarkOffer[] {
  const offers = marks.map((mark) => offerAlone(mark, season, facts, observationsAround(mark.at)));
  return offers.map((offer) => ({
    ...offer,
    steps: offer.steps
      .map((step) => ({ ...step, moreAt: moreAt(step, offer, offers) }))
      .sort((a, b) => Number(a.moreAt !== null) - Number(b.moreAt !== null)),
  }));
}

/** Cups come within seconds of each other; the slot of each is taken for the press around which it changed most. */
function moreAt(
  { carrier, slot, change }: Step,
  offer: MarkOffer,
  offers: readonly MarkOffer[],
): number | null {
  const sizeIn = ({ steps }: MarkOffer) =>
    Math.abs(steps.find((step) => step.carrier === carrier && step.slot === slot)?.change ?? 0);
  const near = offers.filter((each) => each.isProven && Math.abs(between(offer.at, each.at)) <= BENDS);
  const most = near.reduce((best, each) => (sizeIn(each) > sizeIn(best) ? each : best), offer);
  return sizeIn(most) > Math.abs(change) ? offers.indexOf(most) + 1 : null;
}

/** The offer for one mark, whatever was pressed before and after it. */
function offerAlone(
  mark: MarkFact,
  season: Season,
  facts: readonly RecordedFact[],
  observationsOf: ObservationsOf,
): MarkOffer {
  const { at, isProven, boot, boardMs } = mark;
  const changes = isProven ? changesAround(mark, season, observationsOf) : [];
  return {
    at,
    isProven,
    boot,
    boardMs,
    compared: changes.length,
    steps: changes
      .filter(({ change }) => Math.abs(change) >= STEP_MIN)
      .sort((a, b) => Math.abs(b.change) - Math.abs(a.change)),
    known: facts.flatMap(({ fact }) =>
      'cup' in fact && fact.type.startsWith('cup-') && Math.abs(fact.at - at) <= NEAR
        ? [{ cup: fact.cup, did: fact.type.slice('cup-'.length), at: fact.at }]
        : [],
    ),
  };
}

function changesAround({ at, board }: MarkFact, season: Season, observationsOf: ObservationsOf): Step[] {
  const carriers = [...season.carriers.values()].filter((carrier) => carrier.board === board);
  return carriers.flatMap((carrier) => {
    const changes = [...carrier.slots.keys()].flatMap((slot): Step[] => {
      const rom = probeIn(carrier, slot, at);
      const change = rom === null ? null : offCourse(observationsOf(rom), at);
      return change === null ? [] : [{ carrier: carrier.carrier, slot, change, moreAt: null }];
    });
    const alike = changes.length < SLOTS_ALIKE_MIN ? 0 : median(changes.map(({ change }) => change));
    return changes.map((each) => ({ ...each, change: each.change - alike }));
  });
}

/** How far the readings after a moment lie off the line through those before; null when there are too few. */
function offCourse(observations: readonly Observation[], at: UtcMs): number | null {
  const within = ({ from, to }: typeof BEFORE) =>
    observations
      .filter((each) => each.at >= later(at, from) && each.at <= later(at, to))
      .map((each) => ({ minutes: inMinutes(between(at, each.at)), celsius: each.celsius as number }));
  const [before, after] = [within(BEFORE), within(AFTER)];
  if (before.length < BEFORE_READINGS_MIN || after.length === 0) return null;
  const middle = mean(before.map((each) => each.minutes));
  const level = mean(before.map(({ celsius }) => celsius));
  const square = mean(before.map((each) => (each.minutes - middle) ** 2));
  const slope = mean(before.map((each) => (each.minutes - middle) * (each.celsius - level))) / square;
  return mean(after.map((each) => each.celsius - level - slope * (each.minutes - middle)));
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;
