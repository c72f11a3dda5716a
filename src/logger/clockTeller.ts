import type { AnswerEvent, ClockEvent } from '../carrier/events.js';
import { PROVEN_WITHIN } from '../exposure/bootPlacement.js';
import { durationMs, later, type UtcMs } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { clockOffInWords } from '../visit/boardInWords.js';
import type { Level } from './say.js';

/** Tells people that a board's clock was set: from what to what. */
export interface ClockTeller {
  /** What the board's clock told; its difference from this computer's, null when it knew no time. */
  compared(event: ClockEvent, differenceMs: number | null): void;
  /** What the board made of a command at that time. */
  answered(event: AnswerEvent, now: UtcMs): void;
}

export function clockTeller(say: (sentence: string, level?: Level) => void): ClockTeller {
  let last: { readonly event: ClockEvent; readonly differenceMs: number | null } | null = null;
  return {
    compared(event, differenceMs) {
      last = { event, differenceMs };
    },
    answered({ command, result }, now) {
      // That a board has no clock is told when it starts.
      if (command !== 'time' || last === null || last.event.clock === 'absent') return;
      const { event, differenceMs } = last;
      last = null;
      if (result !== 'done')
        return say(
          `board ${event.board}: its clock could not be set (${result}); look with carrier check`,
          'warn',
        );
      const when = (at: UtcMs) => inZone(at, localZone());
      if (differenceMs === null)
        return say(
          `board ${event.board}: its clock had lost its time, which proves nothing of what the board logged alone; it is set to ${when(now)}`,
          'warn',
        );
      say(
        `board ${event.board}: its clock was ${clockOffInWords(differenceMs)} this computer's, and is set: from ${when(later(now, durationMs(differenceMs)))} to ${when(now)}`,
        Math.abs(differenceMs) > PROVEN_WITHIN ? 'warn' : 'info',
      );
    },
  };
}
