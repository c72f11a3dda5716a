import type { Say } from '../../logger/say.js';
import type { Connection } from '../../mirror/connection.js';
import { readCredentials } from '../../mirror/credentials.js';
import type { Target } from '../../mirror/target.js';
import type { Store } from '../../store/store.js';
import type { Clock } from '../../units/clock.js';

/** Connects to a mirror's server with the credentials as they are at that moment; the client is loaded when first needed. */
export const mirrorConnection =
  (clock: Clock) =>
  async (target: Target): Promise<Connection> => {
    const { connect } = await import('../../mirror/connection.js');
    return connect(target, readCredentials(target.credentialsFile, process.env), clock);
  };

/**
 * Runs the mirror's pump beside `logging`, for as long as that goes on. Nothing the mirror meets can end or delay
 * the logging, which knows nothing of it.
 */
export async function mirrored(
  store: Store,
  clock: Clock,
  say: Say,
  logging: () => Promise<void>,
): Promise<void> {
  const { runPump } = await import('../../mirror/pump.js');
  const stop = new AbortController();
  const pumping = runPump({
    store,
    clock,
    connect: mirrorConnection(clock),
    say,
    signal: stop.signal,
  }).catch((error: unknown) =>
    say(`mirror: ended by a fault of its own (${(error as Error).name})`, undefined, 'error'),
  );
  try {
    await logging();
  } finally {
    stop.abort();
    await pumping;
  }
}
