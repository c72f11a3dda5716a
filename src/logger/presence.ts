import { diskHindrance } from '../store/fileSystem.js';
import type { LoggerRow, Store } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import { type DurationMs, seconds, type UtcMs, utcMs } from '../units/time.js';

/** How often a logger gives a sign of life, and after what silence it is taken for dead. */
export const BEAT: DurationMs = seconds(2);
export const SILENT_AFTER: DurationMs = seconds(15);

/** Whether a logger is at work on the store: its process lives and has given a sign of life lately. */
export function isLogging(row: LoggerRow | null, now: UtcMs): boolean {
  return row !== null && row.state === 'logging' && now - row.beat <= SILENT_AFTER && isAlive(row.pid);
}

/** Whether a logger is there that gives no sign of life because the disk lets nobody write: it goes on by itself. */
export function standsBy(row: LoggerRow | null, path: string): boolean {
  return row !== null && row.state === 'logging' && isAlive(row.pid) && diskHindrance(path) !== null;
}

/** The logger's own time now: the wall clock, or a scenario's. */
export function loggerTime(row: LoggerRow, now: UtcMs): UtcMs {
  return utcMs(row.now + (now - row.beat) * row.speed);
}

/** Takes the store for the process `pid`, or refuses when another logger is at work on it. */
export function takeStore(store: Store, pid: number, now: UtcMs): void {
  store.transaction(() => {
    refuseIfLogging(store, pid, now);
    store.setLogger({ pid, beat: now, now, speed: 1, state: 'logging' });
  });
}

/**
 * Gives a sign of life of the logger `own`. One that stood still for long was taken for dead, and may not go on beside
 * whoever came after it.
 *
 * @throws {Refusal} when another logger is at work on the store now
 */
export function keepStore(store: Store, own: LoggerRow): void {
  if (store.beat(own)) return;
  store.transaction(() => {
    const other = store.logger();
    if (other !== null && other.pid !== own.pid && isLogging(other, own.beat))
      throw new Refusal(
        `${store.path} was taken over by another logger (process ${other.pid}) while this one (process ${own.pid}) stood still; this one stops, the other goes on.`,
      );
    store.setLogger(own);
  });
}

/** @throws {Refusal} when a logger other than the process `pid` is at work on the store */
export function refuseIfLogging(store: Store, pid: number, now: UtcMs): void {
  const row = store.logger();
  if (row !== null && row.pid !== pid && (isLogging(row, now) || standsBy(row, store.path)))
    throw new Refusal(
      `${store.path} already has a logger (process ${row.pid}); one logger a store: stop that one first, or name another store.`,
    );
}

/** Whether a process of that number is at work on this computer. */
export function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}
