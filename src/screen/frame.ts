import type { CarrierId } from '../units/ids.js';
import type { CupView, SlotView } from '../visit/slots.js';
import type { Controls } from './controls.js';
import { fitted, type Line, sized, span, spread, type Tone, widthOf } from './line.js';
import type { LoggerSign } from './loggerSign.js';
import { type AlarmRow, ROW_WIDTH_MIN, slotLine, unseatedText } from './view.js';

/** The window, in characters. */
export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** All that the live screen shows at one moment. */
export interface Situation {
  readonly title: string;
  readonly clock: string;
  readonly logger: LoggerSign;
  readonly slots: readonly SlotView[];
  readonly unseated: readonly CupView[];
  readonly alarms: readonly AlarmRow[];
  /** Why what is shown is not up to date; null when it is. */
  readonly problem: string | null;
}

export const COLUMNS_MIN = 60;
export const ROWS_MIN = 18;
/** Said of the whole screen, on every live frame. */
export const CAUTION = 'for the passenger - never while driving';

const GAP = 2;
/** A column gets no wider than it can be read across. */
const COLUMN_MAX = 60;
/** Alarms always find at least this many lines. */
const ALARM_LINES_MIN = 2;

/** A carrier, or as much of it as fits one column. */
interface Block {
  readonly carrier: CarrierId;
  readonly slots: readonly SlotView[];
}

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
  const { pages, page } = pagesOf(situation, controls, size, panel);
  const top = topLine(situation, columns);
  const blocks = blockLines(pages[page] ?? [], controls, columns);
  const below = belowLines(situation, columns);
  const bottom = bottomLines(controls, page + 1, pages.length, columns, panel).slice(0, rows - 1);
  const room = rows - 1 - blocks.length - below.length - bottom.length;
  const alarms = alarmLines(situation.alarms, columns, room);
  // Blank lines only where they cost no alarm.
  const spare = room - alarms.length;
  const blank: Line[] = [[]];
  return [
    top,
    ...(spare > 1 ? blank : []),
    ...blocks,
    ...(spare > 0 ? blank : []),
    ...alarms,
    ...below,
    ...Array.from({ length: Math.max(0, spare - 2) }, (): Line => []),
  ]
    .slice(0, rows - bottom.length)
    .concat(bottom);
}

/** How many pages the carriers take, for the keys. */
export const pageCount = (
  situation: Situation,
  controls: Controls,
  size: Size,
  panel?: readonly Line[],
): number => pagesOf(situation, controls, size, panel).pages.length;

function pagesOf(situation: Situation, controls: Controls, size: Size, panel?: readonly Line[]) {
  const { columns, rows } = canvas(size);
  // Top line, heading of a column, line below, two lines of keys.
  const bottom = panel?.length ?? 2;
  const slotRows = Math.max(1, rows - 1 - 1 - 1 - bottom - ALARM_LINES_MIN);
  const perPage = Math.max(1, Math.floor((columns + GAP) / (ROW_WIDTH_MIN + GAP)));
  const blocks = blocksOf(situation.slots, slotRows);
  const pages = chunks(blocks, perPage);
  if (pages.length === 0) pages.push([]);
  return { pages, page: Math.min(controls.page, pages.length - 1) };
}

function blocksOf(slots: readonly SlotView[], slotRows: number): Block[] {
  const carriers = new Map<CarrierId, SlotView[]>();
  for (const view of slots)
    (carriers.get(view.carrier) ?? carriers.set(view.carrier, []).get(view.carrier)!).push(view);
  return [...carriers].flatMap(([carrier, own]) =>
    chunks(own, slotRows).map((part) => ({ carrier, slots: part })),
  );
}

function chunks<T>(items: readonly T[], size: number): T[][] {
  const parts: T[][] = [];
  for (let from = 0; from < items.length; from += size) parts.push(items.slice(from, from + size));
  return parts;
}

function topLine({ title, clock, logger }: Situation, width: number): Line {
  const sign = span(logger.words, logger.silent ? 'alarm' : 'good');
  return spread([span(title, 'title')], [span(`${clock}  `), sign], width);
}

/** What is said below the alarms, one line at most. */
function belowLines({ problem, unseated }: Situation, width: number): Line[] {
  if (problem !== null) return [[span(fitted(problem, width), 'alarm')]];
  const text = unseatedText(unseated, width);
  return text === null ? [] : [[span(text, 'watch')]];
}

function blockLines(blocks: readonly Block[], { unit }: Controls, width: number): Line[] {
  if (blocks.length === 0) return [[span('No carrier has a probe or a cup yet.', 'quiet')]];
  const share = Math.floor((width - GAP * (blocks.length - 1)) / blocks.length);
  const own = Math.min(COLUMN_MAX, share);
  const columns = blocks.map(({ carrier, slots }) => [
    [span(fitted(`Carrier ${carrier}`, own).padEnd(own), 'title')],
    ...slots.map((view) => slotLine(view, unit, own)),
  ]);
  const height = Math.max(...columns.map((lines) => lines.length));
  return Array.from({ length: height }, (_, row) =>
    columns.flatMap((lines, column): Line => {
      const line = sized(lines[row] ?? [], own);
      return column === 0 ? line : [span(' '.repeat(GAP)), ...line];
    }),
  );
}

const LEVEL_WIDTH = 'ACT NOW'.length;
const LEVEL: Readonly<Record<AlarmRow['level'], { word: string; tone: Tone }>> = {
  'act-now': { word: 'ACT NOW', tone: 'alarm' },
  due: { word: 'DUE', tone: 'watch' },
};

export function alarmLines(alarms: readonly AlarmRow[], width: number, room: number): Line[] {
  const shown = alarms.slice(0, alarms.length <= room ? alarms.length : Math.max(0, room - 1));
  const widest = (of: (row: AlarmRow) => string) => Math.max(0, ...shown.map((row) => of(row).length));
  const [place, cup, yard] = [widest((a) => a.place), widest((a) => a.cup), widest((a) => a.yard)];
  const drawn = shown.map((alarm): Line => {
    const { word, tone } = LEVEL[alarm.level];
    const named = (...names: string[]): Line => [
      span(word.padEnd(LEVEL_WIDTH), tone),
      span(` ${names.join(' ')} `),
      span(alarm.text, tone),
    ];
    const [where, which] = [alarm.place.padEnd(place), alarm.cup.padEnd(cup)];
    // What to do matters more than the yard.
    const lines = [named(where, which, alarm.yard.padEnd(yard)), named(where, which)];
    return lines.find((line) => widthOf(line) <= width) ?? sized(lines.at(-1)!, width);
  });
  const more = alarms.length - shown.length;
  return more > 0 && room > 0 ? [...drawn, [span(`and ${more} more`, 'watch')]] : drawn;
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
  const lines: string[] = [];
  for (const word of sentence.split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= columns)
      lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(fitted(word, columns));
  }
  return lines.slice(0, Math.max(0, rows)).map((text) => [span(text)]);
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
