import { type Recorder, recorder } from '../../src/logger/recorder.js';
import type { Store } from '../../src/store/store.js';
import { parseBoardId, parseRomId } from '../../src/units/ids.js';
import { monotonicMs, utcMs } from '../../src/units/time.js';
import { BOARD, ROMS } from '../carrier/wire/lines.js';
import { eachInNewStore } from '../visit/newStore.js';

/** The board of which these tests record, and its first probe. */
export const board = parseBoardId(BOARD)!;
export const rom = parseRomId(ROMS[0])!;
/** When the host that records was started. */
export const START = utcMs(Date.UTC(2026, 4, 12, 12));

/** Gives each test an empty store, and a recorder that writes into it. */
export function eachWithRecorder(take: (store: Store, writer: Recorder) => void): void {
  eachInNewStore(
    (store) =>
      take(
        store,
        recorder(store, { utc: START, monotonic: monotonicMs(0) }, null, () => {}),
      ),
    START,
  );
}
