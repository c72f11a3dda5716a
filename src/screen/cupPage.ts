import type { LiveState } from '../exposure/live.js';
import type { CupRuling, Observation, Ruling } from '../exposure/types.js';
import type { UtcMs } from '../units/time.js';
import type { CarrierNames } from '../visit/carrierNames.js';
import { type Cup, exposureEnd, inOrder, isExposed, placeNow, slotText } from '../visit/cup.js';
import { entryText } from '../visit/cupHistory.js';
import type { Visit } from '../visit/season.js';
import { dueWindow } from '../visit/turnWindow.js';
import { TURN_ALL } from './due.js';
import { fitted, type Line, span, type Tone, wrapped } from './line.js';
import type { Size } from './size.js';
import { coldText, signOf } from './slotRow.js';
import { ageText } from './status.js';
import { traceChart } from './traceChart.js';
import { isRead } from './unread.js';
import { temperatureText, timeLeftText, timeText, type Unit } from './view.js';

/** One cup as its page shows it. */
export interface CupShown {
  readonly names: CarrierNames;
  readonly cup: Cup;
  readonly visit: Visit;
  /** Null once its exposure is over. */
  readonly state: LiveState | null;
  readonly now: UtcMs;
}

const CHART_MIN = 5;
const CHART_MAX = 12;
/** Lines of the page besides the chart, of a usual cup. */
const OTHER_LINES = 12;

/**
 * One cup: what is known of it, its trace, its entries and its ruling. While it is turned and not wholly read there is
 * neither trace nor ruling, so that whoever counts it is not led by them.
 *
 * @param observations of the probes it was with, while it was with them, in order of time
 * @param history what is to be said beside a ruling
 * @param ruling what the rules say of it so far, or of the whole exposure
 * @param size what the page may fill; it is as long as it must be
 */
export function cupPage(
  { cup, names, visit, state, now }: CupShown,
  observations: readonly Observation[],
  history: readonly string[],
  ruling: CupRuling | null,
  unit: Unit,
  { columns, rows }: Size,
): Line[] {
  const isHidden = isBlind(cup);
  const height = Math.max(CHART_MIN, Math.min(CHART_MAX, rows - OTHER_LINES));
  const text = (words: string, tone?: Tone): Line[] => wrapped(words, columns, tone);
  const trace = {
    observations,
    load: cup.load,
    end: exposureEnd(cup) ?? now,
    rules: visit.rules,
    zone: visit.zone,
  };
  return [
    ...text(titleOf(cup, visit), 'title'),
    ...(state === null ? [] : stateLines({ cup, visit, state }, unit, columns)),
    ...(isHidden ? [] : traceChart(trace, unit, columns, height)),
    ...text(entriesText(cup, names, visit)),
    ...text(countsText(cup)),
    ...(isHidden ? text(BLIND, 'watch') : rulingLines(cup, ruling, text)),
    ...history.flatMap((remark) => text(remark, 'quiet')),
  ];
}

/** Whether a cup is to be counted, by people who should not know how it rode. */
export const isBlind = (cup: Pick<Cup, 'turn' | 'counts'>): boolean => cup.turn !== null && !isRead(cup);

const BLIND =
  'Its trace and its ruling are shown when tray and wash are read, so that whoever counts is not led by them.';

function titleOf(cup: Cup, visit: Visit): string {
  const place = placeNow(cup);
  return [
    `Cup ${cup.cup}, visit ${visit.visit} to yard ${visit.yard}`,
    ...(cup.colony === null ? [] : [`colony ${cup.colony}`]),
    ...(cup.kind === 'strip' ? [] : ['without a strip']),
    ...(place === null ? [] : [`in slot ${slotText(place)}`]),
  ].join(', ');
}

function stateLines(
  { cup, visit, state }: { readonly cup: Cup; readonly visit: Visit; readonly state: LiveState },
  unit: Unit,
  width: number,
): Line[] {
  const { word, shape, tone } = signOf({ cup, state });
  const now = latestText(state, unit);
  const { from, to } = dueWindow(cup, visit);
  const left =
    state.minutesToDue > 0 ? `due in ${timeLeftText(state.minutesToDue)}` : timeLeftText(state.minutesToDue);
  const limits = `${visit.rules.coldTotalMinutes} min allowed, ${visit.rules.coldSpellMinutes} in one spell`;
  const cold = coldText(state.coldMinutes, visit.rules.coldTotalMinutes, true);
  const rest = `  ${now}, ${left}, turn ${timeText(from, visit.zone)} to ${timeText(to, visit.zone)}`;
  return [
    [span(`${shape} ${word}`, tone), span(fitted(rest, width - shape.length - 1 - word.length))],
    ...wrapped(`Cold minutes ${cold.replace(/ of .*/, '')} (${limits}).`, width),
  ];
}

/** A reading that is too old to say something of now is told with its age. */
function latestText({ latest, word }: LiveState, unit: Unit): string {
  if (latest === null) return 'not read';
  const degrees = temperatureText(latest.celsius, unit);
  return word === 'no reading' ? `${degrees} was read ${ageText(latest.age)} ago` : degrees;
}

const entriesText = (cup: Cup, names: CarrierNames, { zone }: Visit): string =>
  `Entries: ${inOrder(cup.entries)
    .map((entry) => `${timeText(entry.fact.at, zone)} ${entryText(entry, names)}`)
    .join(', ')}.`;

function countsText({ counts, turn, spoiled }: Cup): string {
  if (turn === null && spoiled !== null)
    return 'Spoiled before it was turned: its exposure ended then, and nothing of it counts.';
  if (turn === null) return `Not turned yet. ${TURN_ALL}`;
  const word = (count: number | null) => count ?? 'not read';
  return `Tray ${word(counts.tray)}, wash ${word(counts.wash)}, bees ${word(counts.bees)}.`;
}

const MEANING: Readonly<Record<Ruling, string>> = {
  valid: 'Nothing rules it out: it counts.',
  cold: 'It was below the activation threshold for too long. A strip that is cold releases too little, so the mites that stayed say nothing of the strip.',
  hot: 'It was too hot for too long. Heat itself harms bees and mites, so the mites that fell say nothing of the strip.',
  short: 'It was turned too soon: mites that would have fallen later are missing.',
  long: 'It was turned too late: mites fell that the strip had nothing to do with.',
  unproven:
    'Too much of its ride was not seen, or too close to a limit, to say that it was right throughout.',
  spoiled: 'A person marked it as spoiled.',
};

function rulingLines(
  cup: Cup,
  ruling: CupRuling | null,
  text: (words: string, tone?: Tone) => Line[],
): Line[] {
  if (ruling === null) return [];
  if (isExposed(cup)) return soFarLines(ruling, text);
  return [
    ...text(
      `Ruling: ${ruling.ruling}. ${MEANING[ruling.ruling]}`,
      ruling.ruling === 'valid' ? 'good' : 'watch',
    ),
    ...ruling.reasons.flatMap((reason) => text(reason)),
    ...ruling.remarks.flatMap((remark) => text(remark, 'quiet')),
  ];
}

/** That it is too short as yet, or not wholly seen as yet, is no news of a cup that rides. */
const NO_NEWS = /^(short|unproven): exposed/;

function soFarLines({ reasons }: CupRuling, text: (words: string, tone?: Tone) => Line[]): Line[] {
  const told = reasons.filter((reason) => !NO_NEWS.test(reason));
  if (told.length === 0) return text('So far nothing rules it out.', 'good');
  return [
    ...text('If it were turned now, this would be said of it:', 'watch'),
    ...told.flatMap((reason) => text(reason)),
  ];
}
