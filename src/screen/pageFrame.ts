import { type AlarmRow, alarmLines } from './alarms.js';
import type { Controls } from './controls.js';
import { fitted, type Line, span, spread } from './line.js';
import { canvas, type Size } from './size.js';

/** Alarms find this many lines on every page. */
const ALARM_LINES = 2;

/** A page of text in place of the picture: as many of its lines as fit from `scroll` on, the alarms, the panel. */
export function pageFrame(
  title: string,
  lines: readonly Line[],
  alarms: readonly AlarmRow[],
  { scroll, acknowledged }: Controls,
  size: Size,
  panel: readonly Line[],
): Line[] {
  const { columns, rows } = canvas(size);
  const room = pageRows(size, panel);
  const from = Math.min(scroll, Math.max(0, lines.length - room));
  const shown = lines.slice(from, from + room);
  const part =
    lines.length > room
      ? `- more, up, down: lines ${from + 1} to ${from + shown.length} of ${lines.length}`
      : '';
  const head: Line =
    part === ''
      ? [span(fitted(title, columns), 'title')]
      : spread([span(title, 'title')], [span(part, 'title')], columns);
  const said = alarmLines(alarms, acknowledged, columns, ALARM_LINES);
  const blank = Array.from({ length: room - shown.length + ALARM_LINES - said.length }, (): Line => []);
  return [head, ...shown, ...blank, ...said, ...panel].slice(0, rows);
}

/** How many lines of a page the window has room for. */
export const pageRows = (size: Size, panel: readonly Line[]): number =>
  Math.max(1, canvas(size).rows - 1 - ALARM_LINES - panel.length);
