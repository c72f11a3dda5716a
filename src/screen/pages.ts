import { type Column, columnPages } from './columns.js';
import { allDueLines, dueRows } from './due.js';
import type { Line } from './line.js';
import type { Situation } from './situation.js';
import { canvas, isFull, type Size } from './size.js';
import { unreadLines } from './unread.js';

/** Columns side by side, or so many lines of the list of all cups that are to be turned or read. */
export type Page = readonly Column[] | { readonly from: number; readonly lines: number };

/** Lines kept for the panel. One that is taller for a while covers slots, instead of turning them to other pages. */
const usualPanel = (size: Size): number => (isFull(size) ? 4 : 3);

/** Lines that the due list and the alarms always find, each. */
const reserve = (size: Size): number => (isFull(size) ? 2 : 1);

/** All pages that the arrows turn to: first the carriers, then the whole list; at least one. */
export function pagesOf(situation: Situation, size: Size): readonly Page[] {
  const { columns, rows } = canvas(size);
  const status = isFull(size) ? 1 : 0;
  const height = Math.max(2, rows - 1 - status - usualPanel(size) - 2 * reserve(size));
  const listed = Math.max(1, height + reserve(size) - 1);
  const lists = Array.from(
    { length: Math.max(1, Math.ceil(listLines(situation, columns).length / listed)) },
    (_, i) => ({ from: i * listed, lines: listed }),
  );
  const pages: Page[] = [...columnPages(situation.slots, columns, height), ...lists];
  if (situation.slots.length === 0) pages.unshift([]);
  return pages;
}

/** The list of all cups that are to be turned, and below them those that are turned and to be read. */
export const listLines = ({ slots, unseated, zone, unread }: Situation, width: number): Line[] => [
  ...allDueLines(dueRows(slots, unseated), zone, width),
  ...unreadLines(unread, width),
];
