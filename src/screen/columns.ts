import type { CarrierId } from '../units/ids.js';
import type { SlotView } from '../visit/slots.js';
import type { Controls } from './controls.js';
import { fitted, type Line, sized, span } from './line.js';
import type { Situation } from './situation.js';
import { rowLayout, slotHeading, slotLine } from './slotRow.js';
import { unreadLines } from './unread.js';

/** Carriers side by side and below each other. */

/** Between two columns. */
const GAP = 2;
/** Two carriers stand side by side from rows of this width on: what is left of them tells all but words. */
const COLUMN_MIN = 68;

/** A carrier, or as much of it as fits one column. */
interface Block {
  readonly carrier: CarrierId;
  readonly slots: readonly SlotView[];
}

/** Blocks one below the other. */
export type Column = readonly Block[];

/** All slots, in as many columns as fit side by side on each page. */
export function columnPages(slots: readonly SlotView[], width: number, height: number): Column[][] {
  const perPage = Math.max(1, Math.floor((width + GAP) / (COLUMN_MIN + GAP)));
  return chunks(columnsOf(slots, height), perPage);
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

/** Slots carrier by carrier, one below the other as long as they fit. */
function columnsOf(slots: readonly SlotView[], height: number): Column[] {
  const columns: Block[][] = [];
  for (const block of blocksOf(slots, height - 1)) {
    const last = columns.at(-1);
    if (last !== undefined && heightOf(last) + block.slots.length + 1 <= height) last.push(block);
    else columns.push([block]);
  }
  return columns;
}

export const heightOf = (column: Column): number =>
  column.reduce((sum, { slots }) => sum + slots.length + 1, 0);

function chunks<T>(items: readonly T[], size: number): T[][] {
  const parts: T[][] = [];
  for (let from = 0; from < items.length; from += size) parts.push(items.slice(from, from + size));
  return parts;
}

/** Columns side by side in at most `room` lines. */
export function carrierLines(
  page: readonly Column[],
  situation: Situation,
  unit: Controls['unit'],
  width: number,
  room: number,
): Line[] {
  if (page.length === 0) {
    // In a laboratory there are cups to be read, and no carrier.
    const unread = unreadLines(situation.unread, width);
    const none: Line[] = [[span('No carrier has a probe or a cup yet.', 'quiet')]];
    return (unread.length > 0 ? unread : none).slice(0, room);
  }
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

/** As much of a column as fits: what rides quietly gives way to what is in alarm, empty slots and spoiled cups go first. */
function fewer(column: Column, room: number): Column {
  if (heightOf(column) <= room) return column;
  const views = column.flatMap(({ slots }) => slots);
  const kept = new Set(
    views.toSorted((a, b) => rankOf(a) - rankOf(b)).slice(0, Math.max(0, room - column.length - 1)),
  );
  return column.map(({ carrier, slots }) => ({ carrier, slots: slots.filter((view) => kept.has(view)) }));
}

function rankOf({ cup }: SlotView): number {
  if (cup === null || cup.cup.spoiled !== null) return 2;
  return cup.state.alarm === null ? 1 : 0;
}
