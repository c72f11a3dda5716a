import { alarmLines } from './alarms.js';
import { carrierLines, heightOf } from './columns.js';
import type { Controls } from './controls.js';
import { dueLines, dueRows, listHeading } from './due.js';
import { fitted, type Line, sized, span, spread, widthOf, wrapped } from './line.js';
import { listLines, type Page, pagesOf } from './pages.js';
import type { Situation } from './situation.js';
import { COLUMNS_MIN, canvas, isFull, ROWS_MIN, type Size } from './size.js';
import { ageText, lastRead, statusLine, troubleLine } from './status.js';

/**
 * The live screen: lines that fit the window, whatever is in them.
 *
 * @param panel stands at the bottom as it is; cut only when there is no room at all
 */
export function liveFrame(
  situation: Situation,
  controls: Controls,
  size: Size,
  panel: readonly Line[],
): Line[] {
  if (size.columns < COLUMNS_MIN || size.rows < ROWS_MIN) return tooSmall(size);
  const { columns, rows } = canvas(size);
  const pages = pagesOf(situation, size);
  const page = pages[Math.min(controls.page, pages.length - 1)]!;
  const bottom = panel
    .map((line) => (widthOf(line) > columns ? sized(line, columns) : line))
    .slice(0, rows - 1);
  const problem = problemLines(situation, columns);
  const status = isFull(size)
    ? [statusLine(situation.status, columns)]
    : [troubleLine(situation.status, columns)].filter((line) => line.length > 0);
  const ends = [...problem, ...(isFull(size) ? unseatedLines(situation, columns) : []), ...status];
  const room = rows - 1 - ends.length - bottom.length;
  const middle = middleLines(situation, controls, page, columns, room, isFull(size));
  return [
    topLine(situation, columns, isFull(size)),
    ...middle,
    ...Array.from({ length: Math.max(0, room - middle.length) }, (): Line => []),
    ...ends,
  ]
    .slice(0, rows - bottom.length)
    .concat(bottom);
}

function topLine({ title, clock, logger, status }: Situation, width: number, isFullSize: boolean): Line {
  const sign = span(logger.words, logger.silent ? 'alarm' : logger.isResting ? 'watch' : 'good');
  // A full window tells it of each carrier, in its own line.
  const last = isFullSize ? null : lastRead(status);
  const read = last === null ? '' : `read ${ageText(last)} ago  `;
  return spread([span(title, 'title')], [span(`${clock}  ${read}`), sign], width);
}

const problemLines = ({ problem }: Situation, width: number): Line[] =>
  problem === null ? [] : [[span(fitted(problem, width), 'alarm')]];

/** The cups that wait to be seated; in a small window only the due list and an alarm tell of them. */
function unseatedLines({ unseated }: Situation, width: number): Line[] {
  if (unseated.length === 0) return [];
  const text = `Not seated: ${unseated.map(({ cup }) => cup.cup).join(', ')}`;
  return [[span(text.length <= width ? text : `Not seated: ${unseated.length} cups`, 'watch')]];
}

/** Slots, due list and alarms in at most `room` lines. */
function middleLines(
  situation: Situation,
  { unit, acknowledged }: Controls,
  page: Page,
  width: number,
  room: number,
  isFullSize: boolean,
): Line[] {
  const due = dueRows(situation.slots, situation.unseated);
  const least = isFullSize ? 2 : 1;
  const dueLeast = due.length === 0 ? 0 : least;
  const all = alarmLines(situation.alarms, acknowledged, width, Number.POSITIVE_INFINITY).length;
  if ('from' in page) {
    const alarms = alarmLines(
      situation.alarms,
      acknowledged,
      width,
      Math.min(all, Math.max(least, room >> 1)),
    );
    return [...listPage(situation, page, width, room - alarms.length), ...alarms];
  }
  const tallest = Math.max(0, ...page.map(heightOf));
  // Where slots are covered in any case, or empty ones can be, what to do is told whole.
  const empty = page.flat().flatMap(({ slots }) => slots.filter(({ cup }) => cup === null));
  const wanted = Math.min(all, empty.length > 1 ? least + 1 : least);
  const alarmsLeast = Math.min(all, tallest > room - dueLeast - wanted ? least + 1 : least);
  const blocks = carrierLines(page, situation, unit, width, Math.max(0, room - dueLeast - alarmsLeast));
  const below = room - blocks.length;
  const alarms = alarmLines(situation.alarms, acknowledged, width, Math.min(all, below - dueLeast));
  const list = dueLines(due, situation.zone, width, below - alarms.length);
  const spare = below - alarms.length - list.length;
  const blank: Line[] = [[]];
  return [
    ...blocks,
    ...(spare > 0 && list.length > 0 ? blank : []),
    ...list,
    ...(spare > 1 && alarms.length > 0 ? blank : []),
    ...alarms,
  ];
}

function listPage(
  situation: Situation,
  { from, lines }: { readonly from: number; readonly lines: number },
  width: number,
  room: number,
): Line[] {
  const all = listLines(situation, width);
  const shown = all.slice(from, from + lines);
  const nothing: Line[] = all.length === 0 ? [[span('No cup is to be turned or read.', 'quiet')]] : [];
  return [listHeading(width), ...shown, ...nothing].slice(0, Math.max(0, room));
}

/** One sentence, broken between words into as many lines as the window has. */
function tooSmall(size: Size): Line[] {
  const sentence = `Please make this window larger: ${COLUMNS_MIN} columns by ${ROWS_MIN} rows are needed, it has ${size.columns} by ${size.rows}.`;
  const { columns, rows } = canvas(size);
  return wrapped(sentence, columns).slice(0, Math.max(0, rows));
}
