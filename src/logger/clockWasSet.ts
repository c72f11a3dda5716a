import type { Placement } from '../exposure/bootPlacement.js';
import type { BoardId } from '../units/ids.js';
import { type BoardMs, later, utcMs } from '../units/time.js';
import { type ClockDisproved, COMPARED_WITHIN, WITHIN_SECOND } from './bootEvidence.js';
import type { BootLog } from './bootPages.js';

/**
 * What a boot's clock told last before somebody set it, where that was wrong by what proves the boot. No time is placed by it, as the
 * board's count tells; a person should know why some are not.
 *
 * @param isCompared whether the clock was compared as it was set then: what came of that was told
 */
export function toldBeforeSettings(
  board: BoardId,
  boot: number,
  { tables }: BootLog,
  placement: Placement,
  isCompared: (at: BoardMs) => boolean,
): ClockDisproved[] {
  return tables.flatMap(({ boardMs, utc, clock, sets }, index): ClockDisproved[] => {
    const next = tables[index + 1]?.sets ?? null;
    if (utc === null || clock !== 'running' || sets === null || next === null || next === sets) return [];
    const placed = placement.at(boardMs);
    const differenceMs = Math.round(later(utc, WITHIN_SECOND) - placed.utc);
    if (Math.abs(differenceMs) <= placed.within + COMPARED_WITHIN || isCompared(boardMs)) return [];
    const at = utcMs(Math.round(placed.utc));
    return [{ type: 'clock-disproved', board, boot, boardMs, differenceMs, at }];
  });
}
