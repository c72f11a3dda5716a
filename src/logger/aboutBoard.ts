import type { ClockEvent, LogStateEvent } from '../carrier/events.js';
import type { KeptLog } from '../store/logShelf.js';
import { type DurationMs, type MonotonicMs, minutes, type UtcMs } from '../units/time.js';
import type { AskedRun } from './pagePlan.js';
import type { SlotSetting } from './slotPlan.js';

/** Above what the board's whole seconds leave open. */
const CLOCK_OFF_MS = 1500;
const CLOCK_SET_EVERY: DurationMs = minutes(60);

export type AboutBoard = ReturnType<typeof nothingYet>;

/** What is known of a board since its boot, or since the port was opened. */
export function nothingYet() {
  return {
    isIdentified: false,
    hasMarks: false,
    hasSettings: false,
    hasOpenPage: false,
    mustTakeIn: false,
    clock: null as { event: ClockEvent; hostUtc: UtcMs } | null,
    clockSetAt: null as MonotonicMs | null,
    slots: new Map<number, SlotSetting>(),
    refused: new Set<string>(),
    log: null as LogStateEvent | null,
    newest: null as number | null,
    acknowledged: 0,
    held: new Set<number>(),
    /** What is kept and may be of another log (the memory may have been replaced), until the last page of each has come again. */
    unproven: [] as readonly KeptLog[],
    /** How often such a page was asked for in vain. */
    proofTries: new Map<number, number>(),
    /** Pages that are not durable yet, and the commit that is to be. */
    waiting: new Map<number, { readonly commit: number; since: MonotonicMs }>(),
    /** Whether they should not wait for a scan. */
    isHurried: false,
    tries: new Map<number, number>(),
    lost: [] as number[],
    run: null as (AskedRun & { expected: number | null; got: Set<number>; at: MonotonicMs }) | null,
  };
}

/** After its clock was heard: when it does not run or is off, but not again and again. */
export function mustSetClock(about: AboutBoard, now: MonotonicMs): boolean {
  if (about.clock === null) return false;
  if (about.clockSetAt !== null && now - about.clockSetAt < CLOCK_SET_EVERY) return false;
  const { event, hostUtc } = about.clock;
  return event.utc === null || event.clock === 'stopped' || Math.abs(event.utc - hostUtc) > CLOCK_OFF_MS;
}
