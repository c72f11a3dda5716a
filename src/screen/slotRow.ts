import { DEFAULT_RULES } from '../exposure/ruleSet.js';
import type { Bounds, Observation } from '../exposure/types.js';
import type { UtcMs } from '../units/time.js';
import type { CupView, SlotView } from '../visit/slots.js';
import { fitted, fittedEnd, type Line, type Span, sized, span, type Tone } from './line.js';
import { TREND_MINUTES, trendArrow, trendText } from './trend.js';
import { temperatureText, timeLeftText, type Unit } from './view.js';

/** How a cup is doing: a word, and a shape that says the same to who sees no colour and reads no word. */
export interface StateSign {
  readonly word: string;
  readonly shape: string;
  readonly tone: Tone;
}

const SIGNS: Readonly<Record<string, StateSign>> = {
  warm: { word: 'warm', shape: '○', tone: 'good' },
  'near cold': { word: 'near cold', shape: '▽', tone: 'watch' },
  cold: { word: 'cold', shape: '▼', tone: 'alarm' },
  'near hot': { word: 'near hot', shape: '△', tone: 'watch' },
  hot: { word: 'hot', shape: '▲', tone: 'alarm' },
  'no reading': { word: 'no reading', shape: '?', tone: 'watch' },
  'not seated': { word: 'not seated', shape: '◇', tone: 'watch' },
  'no probe': { word: 'no probe', shape: '!', tone: 'alarm' },
  'ruled out': { word: 'ruled out', shape: '×', tone: 'quiet' },
  spoiled: { word: 'spoiled', shape: '/', tone: 'quiet' },
};

/** In place of its state, for whoever counts. */
const RIDES: StateSign = { word: 'rides', shape: '◦', tone: 'plain' };

/** The state of a cup that rides in a slot, which may have no probe. */
export function stateOf({ rom }: Pick<SlotView, 'rom'>, view: CupView): StateSign {
  const sign = signOf(view);
  const isOver = sign === SIGNS['spoiled'] || sign === SIGNS['ruled out'];
  return rom === null && !isOver ? SIGNS['no probe']! : sign;
}

/**
 * How a cup is doing. What is ruled already is told only until it is turned: who counts it afterwards does not know.
 */
export function signOf({ cup, state }: Pick<CupView, 'cup' | 'state'>): StateSign {
  if (cup.spoiled !== null) return SIGNS['spoiled']!;
  if (state.ruledAlready !== null && cup.turn === null) return SIGNS['ruled out']!;
  return SIGNS[state.word]!;
}

/** What a row has room for. Widths in characters; null where a field is left out. */
export interface RowLayout {
  readonly width: number;
  readonly cup: number;
  readonly colony: number | null;
  readonly yard: number | null;
  /** Besides the arrow. */
  readonly trend: number | null;
  /** Whether the cold minutes are told in words. */
  readonly inWords: boolean;
}

const SLOT = 2;
const CUP_MIN = 9;
const COLONY_MIN = 3;
const COLONY_TITLE = 'colony'.length;
const YARD_MIN = 4;
const TEMPERATURE = 7;
const STATE = 10;
const LEFT = 10;
const COLD = 8;
const COLD_IN_WORDS = 'at least 12, at most 19 of 10'.length;
const TREND_MIN = 6;
const TREND_GOOD = 15;
/** Slot, shape, cup, temperature with its arrow, state, time left, cold minutes, and a blank between each two. */
export const ROW_WIDTH_MIN =
  SLOT + 1 + 1 + 1 + CUP_MIN + 1 + TEMPERATURE + 1 + 1 + STATE + 1 + LEFT + 1 + COLD;

/**
 * What rows of `width` characters tell of these slots. Colony, yard and trend come in as there is room, then the whole
 * label and the cold minutes in words.
 *
 * @param width at least `ROW_WIDTH_MIN`
 * @param all the slots of the whole vehicle: the yard is told when there are several
 */
export function rowLayout(width: number, slots: readonly SlotView[], all = slots): RowLayout {
  const cups = slots.flatMap(({ cup }) => (cup === null ? [] : [cup]));
  const longest = (texts: readonly string[]) => Math.max(0, ...texts.map((text) => text.length));
  const yards = new Set(all.flatMap(({ cup }) => (cup === null ? [] : [cup.visit.yard])));
  let room = Math.max(0, width - ROW_WIDTH_MIN);
  /** Takes as much of the room as is wanted, nothing when there is less than `least`. */
  const take = (wanted: number, least: number): number => {
    const taken = Math.min(wanted, room) < least ? 0 : Math.min(wanted, room);
    room -= taken;
    return taken;
  };
  const field = (wanted: number, least: number): number | null => {
    const taken = wanted === 0 ? 0 : take(wanted + 1, least + 1);
    return taken === 0 ? null : taken - 1;
  };
  const colonyLength = longest(cups.map(({ cup }) => cup.colony ?? ''));
  const colony = field(colonyLength, Math.min(colonyLength, COLONY_MIN));
  const yard = yards.size > 1 ? field(longest([...yards]), YARD_MIN) : null;
  const trend = Math.max(0, take(TREND_GOOD + 1, TREND_MIN + 1) - 1);
  const titled = Math.max(0, COLONY_TITLE - (colony ?? COLONY_TITLE));
  const wider = take(titled, titled);
  const cup = CUP_MIN + take(Math.max(0, longest(cups.map((view) => view.cup.cup)) - CUP_MIN), 1);
  const inWords = trend > 0 && take(COLD_IN_WORDS - COLD, COLD_IN_WORDS - COLD) > 0;
  const more = trend > 0 ? take(TREND_MINUTES - trend, 1) : 0;
  return {
    width,
    cup,
    colony: colony === null ? null : colony + wider,
    yard,
    trend: trend === 0 ? null : trend + more,
    inWords,
  };
}

/** What stands above the rows of a carrier. */
export function slotHeading(carrier: string, layout: RowLayout): Line {
  const { width, cup, colony, yard, trend, inWords } = layout;
  const titles = [
    fitted(`Carrier ${carrier}`, SLOT + 1 + 1 + 1 + cup).padEnd(SLOT + 1 + 1 + 1 + cup),
    ...(colony === null ? [] : [(colony < COLONY_TITLE ? '' : 'colony').padEnd(colony)]),
    ...(yard === null ? [] : ['yard'.padEnd(yard)]),
    ' '.repeat(TEMPERATURE + 1),
    ...(trend === null ? [] : [(trend < 'last 30 min'.length ? '30 min' : 'last 30 min').padEnd(trend)]),
    'state'.padEnd(STATE),
    'left'.padStart(LEFT),
    inWords ? 'cold minutes'.padEnd(COLD_IN_WORDS) : 'cold min'.padStart(COLD),
  ];
  return sized([span(titles.join(' '), 'title')], width);
}

/** One slot as a line of exactly the width of the layout. */
export function slotLine(
  view: SlotView,
  layout: RowLayout,
  unit: Unit,
  observations: readonly Observation[],
  now: UtcMs,
): Line {
  const rules = view.cup?.visit.rules ?? DEFAULT_RULES;
  const { hiddenUntil } = view;
  const bars =
    layout.trend === null ? '' : ` ${trendText(observations, now, layout.trend, rules, hiddenUntil)}`;
  const lead = `${String(view.slot).padStart(SLOT)} `;
  const latest = temperatureOf(view, unit, now);
  const degrees = latest.padStart(TEMPERATURE);
  const seen = hiddenUntil === null ? observations : observations.filter(({ at }) => at > hiddenUntil);
  const trend = (latest === '' ? ' ' : trendArrow(seen, now)) + bars;
  const rest: Span[] =
    view.cup === null
      ? emptyRest(view, layout, degrees + trend)
      : cupRest(view.cup, view, layout, degrees, trend);
  return sized([span(lead, view.cup === null ? 'quiet' : 'plain'), ...rest], layout.width);
}

function emptyRest({ rom }: SlotView, { cup, colony, yard }: RowLayout, now: string): Span[] {
  const names = [
    'empty'.padEnd(cup),
    ...[colony, yard].flatMap((width) => (width === null ? [] : [' '.repeat(width)])),
  ];
  return [span(`· ${names.join(' ')} ${now} ${rom === null ? 'no probe' : ''}`, 'quiet')];
}

function cupRest(
  view: CupView & { readonly isBlind?: true },
  slot: SlotView,
  layout: RowLayout,
  degrees: string,
  trend: string,
): Span[] {
  const { cup, visit, state, isBlind } = view;
  const { word, shape, tone } = isBlind && cup.spoiled === null ? RIDES : stateOf(slot, view);
  const names = [
    fittedEnd(cup.cup, layout.cup).padEnd(layout.cup),
    ...(layout.colony === null ? [] : [fittedEnd(cup.colony ?? '-', layout.colony).padEnd(layout.colony)]),
    ...(layout.yard === null ? [] : [fittedEnd(visit.yard, layout.yard).padEnd(layout.yard)]),
  ];
  const isSpoiled = cup.spoiled !== null;
  const left = isSpoiled ? '' : shortened(timeLeftText(state.minutesToDue));
  const cold =
    isSpoiled || isBlind ? '' : coldText(state.coldMinutes, visit.rules.coldTotalMinutes, layout.inWords);
  return [
    span(shape, tone),
    span(` ${names.join(' ')} ${degrees}${trend} `),
    span(word.padEnd(STATE), tone),
    span(` ${left.padStart(LEFT)} `, !isSpoiled && state.minutesToDue <= 0 ? 'watch' : 'plain'),
    span(layout.inWords ? cold : cold.padStart(COLD)),
  ];
}

/** Well past due a time needs the room of its unit. */
const shortened = (left: string): string => (left.length > LEFT ? left.replace(' min', 'm') : left);

/** Minutes that a cup was cold, at least and at most, against what is allowed in total; whole minutes, outwards. */
export function coldText({ certain, possible }: Bounds, limit: number, inWords: boolean): string {
  const [least, most] = [Math.floor(certain), Math.ceil(possible)];
  if (inWords) return `at least ${least}, at most ${most} of ${limit}`;
  const text = least === most ? `${least}/${limit}` : `${least}-${most}/${limit}`;
  return text.length <= COLD ? text : `${least}+/${limit}`;
}

/** The latest temperature of a slot, empty when nothing is known of now, or it is not to be seen. */
function temperatureOf({ cup, latest, hiddenUntil }: SlotView, unit: Unit, now: UtcMs): string {
  // The state of a spoiled cup ends with its exposure; what stands in the slot is as warm as its probe says.
  const isOver = cup === null || cup.cup.spoiled !== null;
  const shown = isOver ? latest : cup.state.word === 'no reading' ? null : cup.state.latest;
  const isHidden = shown !== null && hiddenUntil !== null && now - shown.age <= hiddenUntil;
  return shown === null || isHidden ? '' : temperatureText(shown.celsius, unit);
}
