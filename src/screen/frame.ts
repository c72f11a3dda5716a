import type { Observation } from '../exposure/types.js';
import type { CarrierId } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import type { CupView, SlotView } from '../visit/slots.js';
import { type AlarmRow, alarmLines } from './alarms.js';
import type { Controls } from './controls.js';
import { allDueLines, dueLines, dueRows, listHeading } from './due.js';
import { fitted, type Line, sized, span, spread, widthOf, wrapped } from './line.js';
import type { LoggerSign } from './loggerSign.js';
import { rowLayout, slotHeading, slotLine } from './slotRow.js';
import { ageText, lastRead, type Status, statusLine, troubleLine } from './status.js';
import { type UnreadCup, unreadLines } from './unread.js';

/** The window, in characters. */
export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** All that the live screen shows at one moment. */
export interface Situation {
  readonly title: string;
  readonly at: UtcMs;
  /** In which times of day are told. */
  readonly zone: string;
  readonly clock: string;
  readonly logger: LoggerSign;
  readonly slots: readonly SlotView[];
  readonly unseated: readonly CupView[];
  /** The trustworthy readings of a probe, in order of time, as far back as they are held. */
  readonly observationsOf: (rom: string) => readonly Observation[];
  readonly unread: readonly UnreadCup[];
  readonly alarms: readonly AlarmRow[];
  readonly status: Status;
  /** Why what is shown is not up to date; null when it is. */
  readonly problem: string | null;
}

export const COLUMNS_MIN = 60;
export const ROWS_MIN = 18;
/** Said of the whole screen, on every live frame. */
export const CAUTION = 'for the passenger - never while driving';

const GAP = 2;
/** Two carriers stand side by side from rows of this width on: what is left of them tells all but words. */
const COLUMN_MIN = 68;
/** A window with fewer lines is drawn without what can be spared. */
const ROWS_FULL = 23;

/** A carrier, or as much of it as fits one column. */
interface Block {
  readonly carrier: CarrierId;
  readonly slots: readonly SlotView[];
}

/** Blocks one below the other. */
type Column = readonly Block[];
/** Columns side by side, or so many lines of the list of all cups that are to be turned or read. */
type Page = readonly Column[] | { readonly from: number; readonly lines: number };

/** What may be drawn on: one line less than the window, or the whole terminal would be wiped at each frame. */
export const canvas = ({ columns, rows }: Size): Size => ({ columns, rows: rows - 1 });

/**
 * The live screen: lines that fit the window, whatever is in them.
 *
 * @param panel stands at the bottom as it is, in place of the keys and the caution; cut only when there is no room at all
 */
export function liveFrame(
  situation: Situation,
  controls: Controls,
  size: Size,
  panel?: readonly Line[],
): Line[] {
  if (size.columns < COLUMNS_MIN || size.rows < ROWS_MIN) return tooSmall(size);
  const { columns, rows } = canvas(size);
  const { pages, page } = pagesOf(situation, size, controls.page, panel);
  const bottom = bottomLines(controls, page + 1, pages.length, columns, panel).slice(0, rows - 1);
  const problem = problemLines(situation, columns);
  const status = isFull(size)
    ? [statusLine(situation.status, columns)]
    : [troubleLine(situation.status, columns)].filter((line) => line.length > 0);
  const ends = [...problem, ...(isFull(size) ? unseatedLines(situation, columns) : []), ...status];
  const room = rows - 1 - ends.length - bottom.length;
  const middle = middleLines(situation, controls, pages[page]!, columns, room, isFull(size));
  return [
    topLine(situation, columns, isFull(size)),
    ...middle,
    ...Array.from({ length: Math.max(0, room - middle.length) }, (): Line => []),
    ...ends,
  ]
    .slice(0, rows - bottom.length)
    .concat(bottom);
}

/** A panel that is taller for a while covers slots, instead of turning them to other pages. */
const usualPanel = (size: Size): number => (isFull(size) ? 4 : 3);

const isFull = ({ rows }: Size): boolean => rows >= ROWS_FULL;

/** How many pages the carriers and the due list take, for the keys. */
export const pageCount = (
  situation: Situation,
  _controls: Controls,
  size: Size,
  panel?: readonly Line[],
): number => pagesOf(situation, size, 0, panel).pages.length;

/** Lines that the due list and the alarms always find, each. */
const reserve = (size: Size): number => (isFull(size) ? 2 : 1);

function pagesOf(situation: Situation, size: Size, wanted: number, panel?: readonly Line[]) {
  const { columns, rows } = canvas(size);
  const bottom = Math.min(panel?.length ?? 2, usualPanel(size));
  const status = isFull(size) ? 1 : 0;
  const height = Math.max(2, rows - 1 - status - bottom - 2 * reserve(size));
  const listed = Math.max(1, height + reserve(size) - 1);
  const lists = Array.from(
    { length: Math.max(1, Math.ceil(listLines(situation, columns).length / listed)) },
    (_, i) => ({ from: i * listed, lines: listed }),
  );
  const perPage = Math.max(1, Math.floor((columns + GAP) / (COLUMN_MIN + GAP)));
  const pages: Page[] = [
    ...chunks(columnsOf(blocksOf(situation.slots, height - 1), height), perPage),
    ...lists,
  ];
  if (situation.slots.length === 0) pages.unshift([]);
  return { pages, page: Math.min(wanted, pages.length - 1) };
}

function blocksOf(slots: readonly SlotView[], slotRows: number): Block[] {
  const carriers = new Map<CarrierId, SlotView[]>();
  for (const view of slots)
    (carriers.get(view.carrier) ?? carriers.set(view.carrier, []).get(view.carrier)!).push(view);
  return [...carriers].flatMap(([carrier, own]) => {
    const parts = Math.ceil(own.length / slotRows);
    return chunks(own, Math.ceil(own.length / parts)).map((part) => ({ carrier, slots: part }));
  });
}

/** Blocks one below the other as long as they fit. */
function columnsOf(blocks: readonly Block[], height: number): Column[] {
  const columns: Block[][] = [];
  for (const block of blocks) {
    const last = columns.at(-1);
    if (last !== undefined && heightOf(last) + block.slots.length + 1 <= height) last.push(block);
    else columns.push([block]);
  }
  return columns;
}

const heightOf = (column: Column): number => column.reduce((sum, { slots }) => sum + slots.length + 1, 0);

function chunks<T>(items: readonly T[], size: number): T[][] {
  const parts: T[][] = [];
  for (let from = 0; from < items.length; from += size) parts.push(items.slice(from, from + size));
  return parts;
}

function topLine({ title, clock, logger, status }: Situation, width: number, isFullSize: boolean): Line {
  const sign = span(logger.words, logger.silent ? 'alarm' : 'good');
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
  const blocks = pageLines(page, situation, unit, width, Math.max(0, room - dueLeast - alarmsLeast));
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

/** All cups that are to be turned, and below them those that are turned and to be read. */
const listLines = ({ slots, unseated, zone, unread }: Situation, width: number): Line[] => [
  ...allDueLines(dueRows(slots, unseated), zone, width),
  ...unreadLines(unread, width),
];

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

/** The blocks of a page in at most `room` lines. */
function pageLines(
  page: readonly Column[],
  situation: Situation,
  unit: Controls['unit'],
  width: number,
  room: number,
): Line[] {
  if (page.length === 0)
    return [[span('No carrier has a probe or a cup yet.', 'quiet')] as Line].slice(0, room);
  const own = Math.floor((width - GAP * (page.length - 1)) / page.length);
  const columns = page.map((column) => columnLines(column, situation, unit, own, room));
  const height = Math.max(...columns.map((lines) => lines.length));
  return Array.from({ length: height }, (_, row) =>
    columns.flatMap((lines, place): Line => {
      const line = sized(lines[row] ?? [], own);
      return place === 0 ? line : [span(' '.repeat(GAP)), ...line];
    }),
  );
}

function columnLines(
  column: Column,
  { slots: all, at, observationsOf }: Situation,
  unit: Controls['unit'],
  width: number,
  room: number,
): Line[] {
  const shown = fewer(column, room);
  const layout = rowLayout(
    width,
    column.flatMap(({ slots }) => slots),
    all,
  );
  const lines = shown.flatMap(({ carrier, slots }): Line[] => [
    slotHeading(carrier, layout),
    ...slots.map((view) =>
      slotLine(view, layout, unit, view.rom === null ? [] : observationsOf(view.rom), at),
    ),
  ]);
  const covered = heightOf(column) - heightOf(shown);
  if (covered === 0 || room < 1) return lines.slice(0, Math.max(0, room));
  return [...lines, [span(fitted(`and ${covered} more slots, covered for now`, width), 'watch')]];
}

/** As much of a column as fits: what rides quietly gives way to what is in alarm, empty slots go first. */
function fewer(column: Column, room: number): Column {
  if (heightOf(column) <= room) return column;
  const views = column.flatMap(({ slots }) => slots);
  const kept = new Set(
    views.toSorted((a, b) => rankOf(a) - rankOf(b)).slice(0, Math.max(0, room - column.length - 1)),
  );
  return column.map(({ carrier, slots }) => ({ carrier, slots: slots.filter((view) => kept.has(view)) }));
}

function rankOf({ cup }: SlotView): number {
  if (cup === null) return 2;
  return cup.state.alarm === null ? 1 : 0;
}

function bottomLines(
  controls: Controls,
  page: number,
  pages: number,
  width: number,
  panel: readonly Line[] | undefined,
): readonly Line[] {
  if (panel === undefined) return footer(controls, page, pages, width);
  return panel.map((line) => (widthOf(line) > width ? sized(line, width) : line));
}

function footer({ unit, muted }: Controls, page: number, pages: number, width: number): Line[] {
  const keys = [
    'q quit',
    `f °${unit === 'C' ? 'F' : 'C'}`,
    muted ? 'm unmute' : 'm mute',
    `arrows page ${page}/${pages}`,
  ].join('  ');
  if (keys.length + 1 + CAUTION.length <= width)
    return [spread([span(keys, 'quiet')], [span(CAUTION, 'watch')], width)];
  return [[span(fitted(keys, width), 'quiet')], [span(fitted(CAUTION, width), 'watch')]];
}

/** One sentence, broken between words into as many lines as the window has. */
function tooSmall(size: Size): Line[] {
  const sentence = `Please make this window larger: ${COLUMNS_MIN} columns by ${ROWS_MIN} rows are needed, it has ${size.columns} by ${size.rows}.`;
  const { columns, rows } = canvas(size);
  return wrapped(sentence, columns)
    .slice(0, Math.max(0, rows))
    .map((text) => [span(text)]);
}

/** The results: as many lines as fit from `scroll` on, and the keys. */
export function resultsFrame(
  title: string,
  lines: readonly string[],
  { scroll }: Controls,
  size: Size,
): Line[] {
  const { columns, rows } = canvas(size);
  const room = resultRows(size);
  const from = Math.min(scroll, Math.max(0, lines.length - room));
  const shown = lines.slice(from, from + room);
  const part =
    lines.length > room ? `  up/down lines ${from + 1} to ${from + shown.length} of ${lines.length}` : '';
  return [
    [span(fitted(title, columns), 'title')],
    ...shown.map((text): Line => [span(fitted(text, columns))]),
    [span(fitted(`q or Enter: done${part}`, columns), 'quiet')],
  ].slice(0, Math.max(0, rows));
}

/** How many lines of results the window has room for. */
export const resultRows = (size: Size): number => Math.max(1, canvas(size).rows - 2);
