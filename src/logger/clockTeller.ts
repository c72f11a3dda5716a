import type { AnswerEvent, ClockEvent } from '../carrier/events.js';
import { PROVEN_WITHIN } from '../exposure/bootPlacement.js';
import { CHIP_WANDERS } from '../exposure/pace.js';
import type { Fact } from '../store/facts.js';
import { durationMs, later, type UtcMs } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { clockOffInWords } from '../visit/boardInWords.js';
import type { Level } from './say.js';

/** Tells people that a board's clock was set: from what to what. */
export interface ClockTeller {
  /**
   * What the board's clock told; its difference from this computer's, null when it knew no time.
   *
   * @param since the comparison before, from which it goes on unset
   */
  compared(event: ClockEvent, differenceMs: number | null, since?: ClockCompared | null): void;
  /** What the board made of a command at that time. */
  answered(event: AnswerEvent, now: UtcMs): void;
}

type ClockCompared = Extract<Fact, { type: 'clock-compared' }>;

/** By how much this computer's clock moved against a board's that was right at a comparison, ms; null when that may be the board's own doing. */
function movedSince({ differenceMs, at }: ClockCompared, nowMs: number, now: UtcMs): number | null {
  if (differenceMs === null || Math.abs(differenceMs) > PROVEN_WITHIN) return null;
  const ownDoing = PROVEN_WITHIN + Math.abs(now + nowMs - at) * CHIP_WANDERS;
  return Math.abs(nowMs - differenceMs) > ownDoing ? differenceMs - nowMs : null;
}

export function clockTeller(say: (sentence: string, level?: Level) => void): ClockTeller {
  let last: {
    readonly event: ClockEvent;
    readonly differenceMs: number | null;
    readonly since: ClockCompared | null;
  } | null = null;
  return {
    compared(event, differenceMs, since = null) {
      last = { event, differenceMs, since };
    },
    answered({ command, result }, now) {
      // That a board has no clock is told when it starts.
      if (command !== 'time' || last === null || last.event.clock === 'absent') return;
      const { event, differenceMs, since } = last;
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
      const movedMs = since === null ? null : movedSince(since, differenceMs, now);
      if (movedMs !== null)
        return say(
          `this computer's clock is ${clockOffInWords(movedMs)} what it was on ${when(since!.at)}, as the clock of board ${event.board} tells, which was right then; the board's is set to this computer's: from ${when(later(now, durationMs(differenceMs)))} to ${when(now)}`,
          'warn',
        );
      say(
        `board ${event.board}: its clock was ${clockOffInWords(differenceMs)} this computer's, and is set: from ${when(later(now, durationMs(differenceMs)))} to ${when(now)}`,
        Math.abs(differenceMs) > PROVEN_WITHIN ? 'warn' : 'info',
      );
    },
  };
}
