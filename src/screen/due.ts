import type { UtcMs } from '../units/time.js';
import { slotText } from '../visit/cup.js';
import type { CupView, SlotView } from '../visit/slots.js';
import { dueWindow } from '../visit/turnWindow.js';
import { fitted, type Line, span, type Tone } from './line.js';
import { timeLeftText, timeText } from './view.js';

/** A cup that is to be turned, and when. */
export interface DueRow {
  readonly cup: string;
  readonly colony: string | null;
  readonly yard: string;
  /** Carrier and slot, empty when the cup is in none. */
  readonly place: string;
  readonly minutesToDue: number;
  readonly due: UtcMs;
  /** Turned at these times of day its exposure has the right length whatever its load was within its precision. */
  readonly from: UtcMs;
  readonly to: UtcMs;
}

/** Said wherever cups are listed to be turned. */
export const TURN_ALL = 'Turn and count every cup, ruled out or not.';

/**
 * Every cup that rides, in the order in which they are due. What is ruled of a cup makes no difference, and is not told;
 * only what a person has marked as spoiled is left out.
 */
export function dueRows(slots: readonly SlotView[], unseated: readonly CupView[]): DueRow[] {
  const seated = slots.flatMap((view) => (view.cup === null ? [] : [dueRow(view.cup, slotText(view))]));
  return [...seated, ...unseated.map((view) => dueRow(view, ''))]
    .filter((row) => row !== null)
    .sort((a, b) => a.due - b.due || (a.cup < b.cup ? -1 : 1));
}

function dueRow({ cup, visit, state }: CupView, place: string): DueRow | null {
  if (cup.spoiled !== null || cup.turn !== null) return null;
  return {
    cup: cup.cup,
    colony: cup.colony,
    yard: visit.yard,
    place,
    minutesToDue: state.minutesToDue,
    ...dueWindow(cup, visit),
  };
}

const LEFT = 'late 599 min'.length;

/** The first cups of the list in at most `room` lines, the standing line above them. */
export function dueLines(rows: readonly DueRow[], zone: string, width: number, room: number): Line[] {
  if (rows.length === 0 || room < 1) return [];
  if (room === 1) return [dueInOneLine(rows, zone, width)];
  const shown = rows.slice(0, room - 1);
  const more = rows.length - shown.length;
  const heading = `Due next. ${TURN_ALL}`;
  const rest = more === 0 ? '' : ` ${more} more in the list.`;
  return [
    [span(heading.length + rest.length <= width ? heading + rest : fitted(heading, width), 'title')],
    ...shown.map((row) => dueLine(row, zone, width)),
  ];
}

/** Every cup, a line each. */
export const allDueLines = (rows: readonly DueRow[], zone: string, width: number): Line[] =>
  rows.map((row) => dueLine(row, zone, width));

/** What stands above a page of the whole list. */
export const listHeading = (width: number): Line => [
  span(fitted(`In order of due. ${TURN_ALL}`, width), 'title'),
];

/** In a narrower window the turn window stands in brackets. */
const WORDS_FROM = 72;

function dueLine(row: DueRow, zone: string, width: number): Line {
  const left = timeLeftText(row.minutesToDue);
  const lead = (row.minutesToDue > 0 ? `in ${left}` : left).padEnd(LEFT);
  const due = timeText(row.due, zone);
  const when =
    width < WORDS_FROM
      ? `${due} (${windowText(row, zone, '-')})`
      : `${due}, turn ${windowText(row, zone, ' to ')}`;
  const place = row.place === '' ? 'not seated' : row.place;
  const names = [place, row.cup, row.colony, row.yard].filter((name) => name !== null);
  return [span(lead, toneOf(row)), span(fitted(` ${when}  ${names.join(' ')}`, width - lead.length))];
}

const windowText = ({ from, to }: DueRow, zone: string, joined: string): string =>
  `${timeText(from, zone)}${joined}${timeText(to, zone)}`;

const toneOf = ({ minutesToDue }: DueRow): Tone => (minutesToDue <= 0 ? 'watch' : 'plain');

/** As much as one line tells: the first cup with its window, others as they fit. */
function dueInOneLine(rows: readonly DueRow[], zone: string, width: number): Line {
  const named = (row: DueRow) => (row.place === '' ? row.cup : row.place);
  const first = rows[0]!;
  const lead = 'Turn all, ruled out or not: ';
  let text = `${named(first)} ${timeText(first.due, zone)} (${windowText(first, zone, '-')})`;
  let shown = 1;
  for (const row of rows.slice(1)) {
    const longer = `${text}, ${named(row)} ${timeText(row.due, zone)}`;
    const more = rows.length - shown - 1;
    if (lead.length + longer.length + (more > 0 ? ` +${more}`.length : 0) > width) break;
    text = longer;
    shown += 1;
  }
  const more = rows.length - shown;
  return [
    span(lead, 'title'),
    span(fitted(`${text}${more > 0 ? ` +${more}` : ''}`, width - lead.length), toneOf(first)),
  ];
}
