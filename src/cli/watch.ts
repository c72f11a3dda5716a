import type { Command } from 'commander';
import { isLogging, loggerTime } from '../logger/presence.js';
import { openStoreToRead, openStoreToWrite } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import { seconds } from '../units/time.js';
import { type Context, onStore, type StoreOptions } from './context.js';
import { PORT_OPTION, type PortOptions, portAndCarrier } from './log.js';
import { logFile, startLogger } from './loggerProcess.js';
import { showScreen } from './showScreen.js';

/** How long a freshly started logger is watched for an early end. */
const SETTLE = seconds(1);

/** The command `watch`: the screen on a store, with a logger behind it. */
export function define(command: Command, context: Context): void {
  onStore(command)
    .option(...PORT_OPTION)
    .action((options: StoreOptions & PortOptions) => watch(options, context));
}

async function watch(options: StoreOptions & PortOptions, { io, clock }: Context): Promise<void> {
  if (!process.stdout.isTTY)
    throw new Refusal('watch needs a terminal; without one use log and visit result.');
  const ports = options.port ?? [];
  ports.forEach(portAndCarrier);
  if (ports.length > 0) openStoreToWrite(options.store, clock.utc()).close();
  const store = openStoreToRead(options.store);
  try {
    if (ports.length > 0 && !isLogging(store.logger(), clock.utc())) {
      const logger = startLogger(
        options.store,
        ports.flatMap((port) => ['--port', port]),
        'detached',
      );
      io.err(`started the logger (process ${logger.process.pid}); it goes on when the screen is closed.`);
      await Promise.race([logger.ended, clock.sleep(SETTLE)]);
      if (logger.process.exitCode !== null)
        throw new Refusal(
          `The logger did not start; what it said is at the end of ${logFile(options.store)}.`,
        );
    }
    await showScreen({
      store,
      now: () => {
        const row = store.logger();
        return row !== null && isLogging(row, clock.utc()) ? loggerTime(row, clock.utc()) : clock.utc();
      },
      clock,
      title: `stillwarm: ${options.store}`,
      results: () => [],
      finished: () => false,
    });
  } finally {
    store.close();
  }
}
