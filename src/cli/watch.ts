import type { Command } from 'commander';
import { isLogging, loggerTime } from '../logger/presence.js';
import { kindOfFile } from '../store/header.js';
import { openStoreToRead } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { seconds, type UtcMs } from '../units/time.js';
import { localZone } from '../units/zone.js';
import { type Context, type StoreOptions, withStore } from './context.js';
import { logFile, startLogger } from './loggerProcess.js';
import { showScreen } from './showScreen.js';
import { type SourceOptions, sourceArgs, sourceLines, withSources } from './sources.js';

/** How long a freshly started logger may take to say its first word. */
const START_MAX = seconds(15);
const POLL = seconds(0.1);

/** The command `watch`: the screen on a store, with a logger behind it. */
export function define(command: Command, context: Context): void {
  withSources(withStore(command)).action((options: StoreOptions & SourceOptions) => watch(options, context));
}

async function watch(options: StoreOptions & SourceOptions, { clock }: Context): Promise<void> {
  if (!process.stdout.isTTY)
    throw new Refusal('watch needs a terminal; without one use log and visit result.');
  if (sourceLines(options).length > 0 && !logsAlready(options.store, clock.utc()))
    await startDetached(options.store, sourceArgs(options), clock);
  const store = openStoreToRead(options.store);
  try {
    await showScreen({
      store,
      now: () => {
        const row = store.logger();
        return row !== null && isLogging(row, clock.utc()) ? loggerTime(row, clock.utc()) : clock.utc();
      },
      clock,
      title: `stillwarm: ${options.store}`,
      zone: localZone(),
      results: () => [],
      finished: () => false,
    });
  } finally {
    store.close();
  }
}

function logsAlready(path: string, now: UtcMs): boolean {
  if (kindOfFile(path) !== 'store') return false;
  const store = openStoreToRead(path);
  try {
    return isLogging(store.logger(), now);
  } finally {
    store.close();
  }
}

/** Starts a logger that goes on when the screen is closed, and waits for its first sign of life. */
async function startDetached(path: string, args: readonly string[], clock: Clock): Promise<void> {
  const logger = startLogger(path, args, 'detached');
  for (let waited = 0; waited < START_MAX; waited += POLL) {
    await clock.sleep(POLL);
    if (logger.process.exitCode !== null)
      throw new Refusal(`The logger did not start: ${await logger.lastWords()}`);
    if (logsAlready(path, clock.utc())) return;
  }
  throw new Refusal(`The logger gave no sign of life; what it said is in ${logFile(path)}.`);
}
