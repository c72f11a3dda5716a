import type { Celsius } from '../units/temperature.js';
import {
  between,
  type DurationMs,
  durationMs,
  inMinutes,
  seconds,
  type UtcMs,
  utcMs,
} from '../units/time.js';
import { type Figures, figuresIn } from './figures.js';
import type { FiguresIn } from './followedFigures.js';
import { coldInMinutes, FORECAST_FIT } from './forecast.js';
import { windowsOf } from './judge.js';
import { roughly } from './roughly.js';
import type { RuleSet } from './ruleSet.js';
import { isPast, type LimitName, limitsOf, type Spells } from './spells.js';
import { countWhile, type ObservationsOf, within } from './timeline.js';
import type { Bounds, Exposure, Seating } from './types.js';

/** How a cup is doing, in words for people. `near` says that the uncertainty does not rule it out. */
export type LiveWord = 'warm' | 'near cold' | 'cold' | 'near hot' | 'hot' | 'no reading' | 'not seated';

/** What a screen shows of a cup that is not turned yet. Durations in minutes. */
export interface LiveState {
  /** The latest reading of the slot the cup is in now; null when there is none. */
  readonly latest: { readonly celsius: Celsius; readonly age: DurationMs } | null;
  readonly word: LiveWord;
  /** What the cup is ruled whatever happens until its turn; null while that is open. */
  readonly ruledAlready: 'cold' | 'hot' | null;
  readonly coldMinutes: Bounds;
  /** For how long it may be cold from now on, without a break, before it is ruled cold; 0 when it is already. */
  readonly coldMinutesLeft: number;
  /** Until it will be below the threshold if it goes on cooling as in the last minutes; null when it does not. */
  readonly coldInMinutes: number | null;
  /** What would do good and cannot be wrong, in words; null when there is nothing to advise. */
  readonly advice: string | null;
  /** Until the cup is due to be turned; negative when it is overdue. */
  readonly minutesToDue: number;
  /** Until the exposure is too long; negative when it is. */
  readonly minutesToLong: number;
  readonly alarm: Alarm | null;
}

export interface Alarm {
  /** The two sounds: something can still be saved, or a cup is to be turned. */
  readonly level: 'act-now' | 'due';
  /** What is wrong; the words may change while that stays. */
  readonly kind: AlarmKind;
  /** What is wrong and what to do, in words for whoever sits beside the driver. */
  readonly text: string;
}

export type AlarmKind =
  | 'turn'
  | 'too-long'
  | 'very-hot'
  | 'refill'
  | 'cold-soon'
  | 'cold'
  | 'near-cold'
  | 'hot'
  | 'no-reading'
  | 'not-seated'
  | 'no-probe';

/** Out of sight for this part of the cold spell a cup may have, it is time to look (j). */
const UNSEEN_PART = 0.5;

/**
 * What is known of a cup that is still exposed, by the same timeline and limits as its later ruling.
 *
 * @param soFar the exposure with `turn` set to now, to the instant
 * @param figures one that follows the exposure, when it is asked for again and again
 * @throws {Refusal} as `judgeExposure`
 */
export function liveState(
  soFar: Exposure,
  observationsOf: ObservationsOf,
  rules: RuleSet,
  figures: FiguresIn = figuresIn,
): LiveState {
  const precision = { load: soFar.precision.load, turn: durationMs(0) };
  const found = windowsOf({ ...soFar, precision }).map((window) =>
    figures(soFar, window, observationsOf, rules),
  );
  const { warmUps } = found[0] as Figures;
  const [certainCold, certainHot] = [inAll(found, 'certainCold'), inAll(found, 'certainHot')];
  const possibleCold = inAny(found, 'possibleCold');
  const seating = seatingAt(soFar);
  const latest = latestIn(seating, soFar.turn, observationsOf);
  const elapsed = inMinutes(between(soFar.load, soFar.turn));
  const word = wordFor(latest, seating, rules);
  const isWarmingUp = seating !== null && warmUps.at(-1)?.isOver === false;
  const state = {
    latest,
    word,
    ruledAlready: ruledAlready(certainCold, certainHot, rules),
    coldMinutes: { certain: certainCold.totalMinutes, possible: possibleCold.totalMinutes },
    coldMinutesLeft: coldMinutesLeft(certainCold, rules),
    coldInMinutes: word === 'no reading' ? null : forecastFor(seating, soFar.turn, observationsOf, rules),
    advice: isWarmingUp ? PREWARM : null,
    minutesToDue: rules.exposureMinutes - elapsed,
    minutesToLong: rules.exposureMinutesMax - elapsed,
  };
  // Since its last reading, or since it was seated: before that the probe is not to blame.
  const unseen = latest?.age ?? between(seating?.from ?? soFar.load, soFar.turn);
  const given = { ...state, unseenMinutes: inMinutes(unseen), exposedMinutes: elapsed };
  return { ...state, alarm: alarmFor(given, possibleCold, rules) };
}

/** What every window shows. */
const inAll = (found: readonly Figures[], limit: LimitName): Spells => over(found, limit, Math.min);
/** What any window allows. */
const inAny = (found: readonly Figures[], limit: LimitName): Spells => over(found, limit, Math.max);

function over(found: readonly Figures[], limit: LimitName, pick: (...values: number[]) => number): Spells {
  const of = (figure: keyof Spells) => pick(...found.map(({ spells }) => spells[limit][figure]));
  return {
    totalMinutes: of('totalMinutes'),
    longestMinutes: of('longestMinutes'),
    runningMinutes: of('runningMinutes'),
  };
}

/** A probe in still air takes minutes to follow; its cup may be warm already. */
const PREWARM = 'probe still warming up: the cup may be warmer than it reads; pre-warm carrier and probes';

function forecastFor(
  seating: Seating | null,
  turn: UtcMs,
  observationsOf: ObservationsOf,
  rules: RuleSet,
): number | null {
  if (seating === null) return null;
  const from = utcMs(Math.max(seating.from, turn - FORECAST_FIT));
  return coldInMinutes(within(observationsOf(seating.probe), { from, to: turn }), rules.thresholdCelsius);
}

/** The seating the cup is in at the end; of two that meet there, the later. */
const seatingAt = ({ seatings, turn }: Exposure): Seating | null =>
  seatings.toSorted((a, b) => a.from - b.from).findLast(({ from, to }) => from <= turn && to >= turn) ?? null;

function latestIn(seating: Seating | null, turn: UtcMs, observationsOf: ObservationsOf): LiveState['latest'] {
  if (seating === null) return null;
  const readings = observationsOf(seating.probe);
  const last = readings[countWhile(readings, (at) => at <= turn) - 1];
  return last === undefined || last.at < seating.from
    ? null
    : { celsius: last.celsius, age: between(last.at, turn) };
}

function wordFor(latest: LiveState['latest'], seating: Seating | null, rules: RuleSet): LiveWord {
  if (seating === null) return 'not seated';
  if (latest === null || latest.age > seconds(rules.maxGapSeconds)) return 'no reading';
  const limits = limitsOf(rules);
  const past = (limit: keyof typeof limits) => isPast(limits[limit], latest.celsius, seating.uncertainty);
  if (past('certainCold')) return 'cold';
  if (past('certainHot')) return 'hot';
  if (past('possibleCold')) return 'near cold';
  return past('possibleHot') ? 'near hot' : 'warm';
}

function ruledAlready(cold: Spells, hot: Spells, rules: RuleSet): LiveState['ruledAlready'] {
  if (cold.totalMinutes > rules.coldTotalMinutes || cold.longestMinutes > rules.coldSpellMinutes)
    return 'cold';
  return hot.longestMinutes > rules.hotSpellMinutes ? 'hot' : null;
}

function coldMinutesLeft(cold: Spells, rules: RuleSet): number {
  const { coldTotalMinutes, coldSpellMinutes } = rules;
  if (cold.longestMinutes > coldSpellMinutes) return 0;
  return Math.max(0, Math.min(coldTotalMinutes - cold.totalMinutes, coldSpellMinutes - cold.runningMinutes));
}

type Situation = Omit<LiveState, 'alarm'> & {
  readonly unseenMinutes: number;
  readonly exposedMinutes: number;
};

/** So long after its load a cup that is lost can still be filled again where its colony stands (j). */
const REFILL_MINUTES = 30;
const WARM = 'warm the cabin or move it inwards';

function alarmFor(state: Situation, possibleCold: Spells, rules: RuleSet): Alarm | null {
  const act = (kind: AlarmKind, text: string): Alarm => ({ level: 'act-now', kind, text });
  if (state.minutesToLong < 0)
    return {
      level: 'due',
      kind: 'too-long',
      text: `turn now, too long for ${roughly(-state.minutesToLong)}`,
    };
  if (state.minutesToDue <= 0)
    return {
      level: 'due',
      kind: 'turn',
      text: `turn now, too long in ${roughly(state.minutesToLong, Math.floor)}`,
    };
  const { word, latest, ruledAlready } = state;
  if (latest !== null && latest.celsius >= rules.hotAlarmCelsius && word !== 'no reading')
    return act('very-hot', 'very hot: cool the cabin at once');
  if (ruledAlready === 'cold' && state.exposedMinutes <= REFILL_MINUTES)
    return act('refill', 'lost to cold: replace it while still here');
  if (ruledAlready !== null) return null;
  const { coldInMinutes } = state;
  if (coldInMinutes !== null && word !== 'cold')
    return act('cold-soon', `cold in ${roughly(Math.max(1, coldInMinutes))}: ${WARM}`);
  if (word === 'warm' || word === 'near hot') return null;
  if (word === 'hot') return act('hot', 'hot: cool the cabin, keep the sun off');
  if (word === 'cold') {
    const why = state.advice === null ? '' : ' (probe still warming up)';
    return act('cold', `cold, lost in ${roughly(state.coldMinutesLeft, Math.floor)}: ${WARM}${why}`);
  }
  const minutes = word === 'no reading' ? state.unseenMinutes : possibleCold.runningMinutes;
  if (minutes < rules.coldSpellMinutes * UNSEEN_PART) return null;
  const since = `${word} for ${roughly(minutes)}`;
  if (word === 'near cold') return act('near-cold', `${since}: ${WARM}`);
  if (word === 'no reading') return act('no-reading', `${since}: check its probe and cable`);
  return act('not-seated', `${since}: seat the cup`);
}
