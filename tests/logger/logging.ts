import { type LoggedSource, runLogger } from '../../src/logger/logger.js';
import type { Store } from '../../src/store/store.js';
import type { VirtualClock } from '../carrier/host/virtualClock.js';

/** A logger at work in virtual time. */
export interface Logging {
  /** Tells it to stop, and waits until it has; it fails as the logger did. */
  stop(): Promise<void>;
}

/** Opens sources and begins to log them. */
export async function logging(
  store: Store,
  clock: VirtualClock,
  sources: readonly LoggedSource[],
  say: Parameters<typeof runLogger>[0]['say'] = () => {},
): Promise<Logging> {
  for (const { source } of sources) await source.open();
  const stop = new AbortController();
  const running = runLogger({
    store,
    whenUnwritable: 'end',
    sources,
    clock,
    pid: process.pid,
    say,
    signal: stop.signal,
  });
  return {
    async stop() {
      stop.abort();
      await clock.pass(60_000);
      await running;
    },
  };
}
