import type { Command } from 'commander';
import { isLogging, loggerTime, standsBy } from '../logger/presence.js';
import { diskHindrance } from '../store/fileSystem.js';
import { kindOfFile } from '../store/header.js';
import { openStoreToRead } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { seconds, type UtcMs, utcMs } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { clockBehindInWords } from '../visit/clockBehind.js';
import { type Context, type StoreOptions, withStore } from './context.js';
import { logFile, startLogger } from './logging/loggerProcess.js';
import { type SourceOptions, sourceArgs, sourceLines, withSources } from './logging/sources.js';
import { tellPlainly } from './screen/plainLines.js';
import { entryOn } from './screen/screenEntry.js';
import { controlsOf, isPlain, type ScreenChoice, withScreen } from './screen/screenOptions.js';
import { showScreen } from './screen/showScreen.js';
import { byOption, whoDoes } from './whoDoes.js';
import { errSentence } from './wrapped.js';

/** How long a freshly started logger may take to say its first word: a store is read through before. */
const START_MAX = seconds(30);
const POLL = seconds(0.1);

type WatchOptions = StoreOptions &
  SourceOptions &
  ScreenChoice & { readonly by?: string; readonly plan?: string };

/** The command `watch`: the screen on a store, with a logger behind it. */
export function define(command: Command, context: Context): void {
  withScreen(withSources(withStore(command)))
    .option('--plan <file>', 'offer the answers of a plan of plan day --out at the questions of the screen')
    .option(...byOption('who enters'))
    .action((options: WatchOptions) => watch(options, context));
}

async function watch(options: WatchOptions, context: Context): Promise<void> {
  const { clock, io } = context;
  const plan = options.plan === undefined ? [] : await planIn(options.plan);
  if (sourceLines(options).length > 0 && !logsAlready(options.store, clock.utc())) {
    refuseHindered(options.store);
    await startDetached(options.store, sourceArgs(options), clock);
  }
  const who = whoDoes(options);
  const store = openStoreToRead(options.store);
  const behind = clockBehindInWords(store, clock.utc(), (at) => inZone(at, localZone()));
  if (behind !== null) errSentence(io, behind);
  const now = () => {
    const row = store.logger();
    const utc = clock.utc();
    return row !== null && isLogging(row, utc) ? utcMs(Math.round(loggerTime(row, utc))) : utc;
  };
  const seen = { store, now, clock, title: `stillwarm: ${options.store}`, zone: localZone() };
  const finished = () => false;
  const controls = controlsOf(options);
  try {
    if (isPlain(options)) {
      await tellPlainly({ ...seen, io, finished, say: io.out, unit: controls.unit });
    } else
      await showScreen({
        ...seen,
        finished,
        controls,
        entry: entryOn(options.store, who, now, plan),
        results: () => [],
      });
  } finally {
    store.close();
  }
}

/** Loaded only when there is one: the screen keeps a computer's memory for hours. */
async function planIn(path: string) {
  const { readReadyCsv } = await import('./csv/readyCsv.js');
  return readReadyCsv(path);
}

function logsAlready(path: string, now: UtcMs): boolean {
  if (kindOfFile(path) !== 'store') return false;
  const store = openStoreToRead(path);
  try {
    const row = store.logger();
    return isLogging(row, now) || standsBy(row, path);
  } finally {
    store.close();
  }
}

/** A logger would wait, unseen; here is somebody who can make room. */
function refuseHindered(path: string): void {
  const why = diskHindrance(path);
  if (why !== null)
    throw new Refusal(
      `No logger was started, for the disk of ${path} is ${why}: ${why === 'full' ? 'make room' : 'make it writable'}, then run this again; boards keep their scans until then.`,
    );
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
