import { diskHindrance, isReadOnlyHere } from '../store/fileSystem.js';
import { kindOfFile } from '../store/header.js';
import { refuseDamaged } from '../store/soundness.js';
import { Unwritable } from '../store/sqlite.js';
import { openStoreToRead, openStoreToWrite, type Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { seconds, type UtcMs } from '../units/time.js';
import { refuseIfLogging } from './presence.js';
import type { Say } from './say.js';
import { lasted, type Outage, storing } from './storing.js';

/** How often it is looked whether to try again, and told that it waits. */
const LOOK = seconds(2);
/** After so many looks it is said again why nothing is logged: five minutes, as often as a logger at work says it. */
const SAY_AGAIN = 150;

/**
 * Refuses a store that has a logger, or is damaged. It is read through, before any board is: what a logger adds to a damaged
 * file may be lost with it. A block of sealed readings that was damaged harms nothing else, so it is only told.
 */
export function refuseUnfit(path: string, pid: number, now: UtcMs, tell: (sentence: string) => void): void {
  if (kindOfFile(path) !== 'store') return;
  const store = openStoreToRead(path);
  try {
    refuseIfLogging(store, pid, now);
    refuseDamaged(store);
    const blocks = store.changedBlocks();
    if (blocks > 0)
      tell(
        `${path}: ${blocks} of its blocks of sealed readings ${blocks === 1 ? 'is' : 'are'} damaged, so rulings have gaps there; checkup names them, an earlier backup may hold them. Everything else is sound, and logging goes on.`,
      );
  } finally {
    store.close();
  }
}

/**
 * Opens a store for a logger that is about to start. While the disk or another program lets nobody write it waits, as a logger at
 * work does, and touches no port: opening one resets most boards, and what they say would be read late.
 *
 * @param isService whether a service manager starts it again when it ends
 * @param onAlive told every two seconds why it still waits
 * @returns null when there is no store yet, and one can be made; or when `signal` was aborted
 * @throws {Refusal} when waiting is of no use
 */
export async function openToLog(options: {
  readonly path: string;
  readonly clock: Clock;
  readonly pid: number;
  readonly say: Say;
  readonly signal: AbortSignal;
  readonly isService: boolean;
  readonly onAlive: (outage: Outage) => void;
}): Promise<Store | null> {
  const { path, clock, pid, say, signal, isService, onAlive } = options;
  let store: Store | null = null;
  let isFit = false;
  let failure: unknown = null;
  const open = () => {
    try {
      refuseReadOnly(path, isService);
      if (!isFit) refuseUnfit(path, pid, clock.utc(), (sentence) => say(sentence, undefined, 'warn'));
      isFit = true;
      store ??= openedOrNull(path, clock.utc(), say);
      if (store !== null) tryToWrite(store, pid, clock.utc());
    } catch (error) {
      throw error instanceof Unwritable && !passes(error, path) ? asRefusal(error) : error;
    }
  };
  const kept = storing({
    clock,
    now: () => clock.utc(),
    retry: open,
    onBegin: ({ words }) =>
      say(
        `NOTHING CAN BE STORED, so logging has not begun; it begins by itself when that is mended (Ctrl-C ends it), boards keep their scans in their memory: ${words}`,
        undefined,
        'error',
      ),
    onEnd: (outage) =>
      say(`logging begins, after ${Math.round(lasted(outage, clock.utc()) / 1000)} s of waiting`),
    waits: true,
    fail: (error) => {
      failure = error;
    },
  });
  kept.attempt(open);
  for (let looks = 1; kept.outage !== null && failure === null && !signal.aborted; looks += 1) {
    onAlive(kept.outage);
    if (looks % SAY_AGAIN === 0)
      say(`NOTHING CAN BE STORED, logging still waits: ${kept.outage.words}`, undefined, 'error');
    await clock.sleep(LOOK, signal);
    kept.look(() => {});
  }
  if (failure !== null) {
    closed(store);
    throw failure;
  }
  return store;
}

/** Opens a store that is there; null when there is none and one can be made. */
function openedOrNull(path: string, now: UtcMs, say: Say): Store | null {
  if (kindOfFile(path) === 'store') return openStoreToWrite(path, now, say);
  if (diskHindrance(path) === null) return null;
  throw new Unwritable(`${path} cannot be made, the disk is full; make room.`, 'full');
}

/**
 * Keeps SQLite from a disk that is read-only now: what this process has once opened so, it could not write when the disk is mended,
 * for as long as anything of that opening lives. A service need not wait for a disk that only it sees so: started again, it sees it anew.
 */
function refuseReadOnly(path: string, isService: boolean): void {
  if (isService && isReadOnlyHere(path))
    throw new Refusal(
      `${path} cannot be written, for its disk is mounted read-only for this service although it takes writes: a service sees its disks as they were when it started; start it again, and if it says so again, let it write there.`,
    );
  if (diskHindrance(path) === 'read-only')
    throw new Unwritable(`${path} cannot be written; check why its disk is read-only.`, 'read-only');
}

/** Writes what is taken back at once: only that shows whether a store can be written. */
function tryToWrite(store: Store, pid: number, now: UtcMs): void {
  store.transaction(() => {
    refuseIfLogging(store, pid, now);
    const before = store.logger();
    store.setLogger({ pid, beat: now, now, speed: 1, state: 'starting' });
    if (before === null) store.clearLogger(pid);
    else store.setLogger(before);
  });
}

/** As a function, for the compiler cannot see that it was opened meanwhile. */
const closed = (store: Store | null): void => store?.close();

/** Whether what hinders ends without anybody naming another store: a wrong path or wrong permissions do not. */
const passes = ({ why }: Unwritable, path: string): boolean => why === 'busy' || diskHindrance(path) !== null;

const asRefusal = (error: Unwritable): Refusal => new Refusal(error.message, { cause: error });
