import type { Cup } from '../visit/cup.js';
import type { Season } from '../visit/season.js';
import { fitted, type Line, span } from './line.js';

/** A cup that is turned and not wholly read. */
export interface UnreadCup {
  readonly cup: string;
  readonly colony: string | null;
  readonly yard: string;
  readonly tray: boolean;
  readonly wash: boolean;
}

/** Whether a cup's ruling may be told: not before its mites are counted, so that who counts them does not know it. */
export const isRead = ({ counts }: Pick<Cup, 'counts'>): boolean =>
  counts.tray !== null && counts.wash !== null;

/**
 * The turned cups of which a count is missing, in the order in which they were turned. Those of closed visits, too: washes
 * are often read days later. A cup that will never be read leaves the list by being spoiled.
 */
export function unreadCups({ cups, visits }: Season): UnreadCup[] {
  return [...cups.values()]
    .filter((cup) => cup.turn !== null && cup.spoiled === null && !isRead(cup))
    .sort((a, b) => a.turn! - b.turn!)
    .map((cup) => ({
      cup: cup.cup,
      colony: cup.colony,
      yard: visits.get(cup.visit)!.yard,
      tray: cup.counts.tray !== null,
      wash: cup.counts.wash !== null,
    }));
}

/** These cups, a line each under a heading; what was read is not told, only whether. */
export function unreadLines(cups: readonly UnreadCup[], width: number): Line[] {
  if (cups.length === 0) return [];
  const heading = `To be read: ${cups.length}. What is not read stays empty, never 0.`;
  return [
    [span(fitted(heading, width), 'title')],
    ...cups.map((cup): Line => [span(fitted(unreadText(cup), width))]),
  ];
}

const unreadText = ({ cup, colony, yard, tray, wash }: UnreadCup): string => {
  const names = [cup, colony, yard].filter((name) => name !== null).join(' ');
  const read = (name: string, isRead: boolean) =>
    `${name} ${isRead ? 'read' : 'not read'}`.padEnd('tray not read'.length);
  return `  ${read('tray', tray)}  ${read('wash', wash)}  ${names}`;
};
