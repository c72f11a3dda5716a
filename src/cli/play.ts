import type { ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Command } from 'commander';
import type { Scenario } from '../emulator/scenario.js';
import { loggerTime } from '../logger/presence.js';
import { timeText } from '../screen/view.js';
import { openStoreToRead, type Store } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import { minutes, seconds, type UtcMs, utcMs } from '../units/time.js';
import { resultToJson, type VisitResult, visitResult } from '../visit/result.js';
import { seasonOf } from '../visit/season.js';
import { missingCounts, waitsForCounts } from '../visit/stillToCount.js';
import type { Context } from './context.js';
import { resultInWords } from './judging/resultInWords.js';
import { startLogger } from './logging/loggerProcess.js';
import { morningNamed, speedOf } from './scenarioOptions.js';
import { tellPlainly } from './screen/plainLines.js';
import { entryOn } from './screen/screenEntry.js';
import { controlsOf, isPlain, type ScreenChoice, withScreen } from './screen/screenOptions.js';
import { showScreen } from './screen/showScreen.js';
import { stopSignal } from './stopSignal.js';
import { errSentence, wrapped } from './wrapped.js';

interface PlayOptions extends ScreenChoice {
  readonly scenario: string;
  readonly speed?: string;
  readonly store?: string;
  readonly json?: true;
}

const STOPPED = 'Stopped before the end of the scenario: no results.';
const HANDOVER =
  'An invented morning is run first, three hours in a minute or two. Then its cups are yours to practise on; no real cup is touched.';
/** So much of it passes between two words on how far it is. */
const TOLD_EVERY = minutes(30);
/** How long the logger may take to say its first word. */
const START_MAX = seconds(30);
const POLL = seconds(0.05);
/** At 120 times real time a quarter of a minute of the morning. */
const PLAIN_PERIOD = seconds(0.125);

/** The command `play`: the main job on emulated carriers, start to result. */
export function define(command: Command, context: Context): void {
  withScreen(command)
    .option(
      '--scenario <name>',
      'cold-morning, warm-day, or practice: cups to turn, count, replace and load by your own keys',
      'cold-morning',
    )
    .option(
      '--speed <times>',
      'how many times faster than real, or max (default: 120; practice: 1, from where it is yours)',
    )
    .option('--store <file>', 'keep what was logged in this new store (default: forgotten afterwards)')
    .option('--json', 'print the results as JSON, and nothing else')
    .action((options: PlayOptions) => play(options, context));
}

async function play(options: PlayOptions, context: Context): Promise<void> {
  const scenario = morningNamed(options.scenario);
  const speed = options.speed ?? (scenario.handover === undefined ? '120' : '1');
  speedOf(speed);
  if (options.store !== undefined && existsSync(options.store))
    throw new Refusal(
      `${options.store} exists already; name a new file with --store, so that a played morning never mixes with a real one.`,
    );
  const { signal, stop, done } = stopSignal();
  // Nobody reads on: there is nothing to play for.
  for (const stream of [process.stdout, process.stderr]) stream.once('error', stop);
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-play-'));
  const path = options.store ?? join(folder, 'play.sqlite');
  const logger = startLogger(path, ['--emulate', scenario.name, '--speed', speed], 'attached');
  try {
    const store = await openWhenStarted(path, logger, signal, context);
    try {
      await follow(path, store, scenario, options, logger, signal, context);
    } finally {
      store.close();
    }
  } finally {
    logger.process.kill('SIGTERM');
    await logger.ended;
    rmSync(folder, { recursive: true, force: true });
    done();
  }
}

type Logger = ReturnType<typeof startLogger>;

/** Shows the ride until its end, then the results. Leaving the screen earlier gives no results. */
async function follow(
  path: string,
  store: Store,
  scenario: Scenario,
  options: PlayOptions,
  logger: Logger,
  signal: AbortSignal,
  context: Context,
): Promise<void> {
  const { io, clock } = context;
  const ended = () => store.logger()?.state === 'ended';
  const now = (): UtcMs => {
    const row = store.logger();
    return row === null ? scenario.start : utcMs(Math.min(loggerTime(row, clock.utc()), scenario.end));
  };
  const isOver = () => ended() || signal.aborted || !isRunning(logger.process);
  await untilHandover(store, scenario, isOver, context);
  const seen = {
    store,
    now,
    clock,
    title: `stillwarm: ${scenario.name}, an invented morning`,
    zone: zoneOf(scenario),
  };
  if (options.json) while (!isOver()) await clock.sleep(POLL);
  else if (isPlain(options)) {
    // What comes out is the result; how it came about is told beside it.
    await tellPlainly({
      ...seen,
      io,
      unit: controlsOf(options).unit,
      finished: isOver,
      say: io.err,
      signal,
      period: PLAIN_PERIOD,
    });
  } else {
    const why = await showScreen({
      ...seen,
      results: () => resultWords(store, scenario, options).split('\n'),
      finished: ended,
      entry: entryOn(path, null, now),
      controls: controlsOf(options),
    });
    if (why === 'quit' && !ended())
      return io.err(scenario.handover === undefined ? STOPPED : practised(options));
  }
  if (signal.aborted && !ended()) throw new Refusal(STOPPED);
  if (!ended())
    throw new Refusal(`The logger stopped before the end of the scenario: ${await logger.lastWords()}`);
  io.out(
    options.json
      ? JSON.stringify(resultToJson(resultOf(store, scenario)))
      : wrapped(resultWords(store, scenario, options)),
  );
}

/** Waits while a scenario runs to where it is handed over, and says how far it is. */
async function untilHandover(
  store: Store,
  scenario: Scenario,
  isOver: () => boolean,
  { io, clock }: Context,
): Promise<void> {
  const { start, handover, end } = scenario;
  if (handover === undefined) return;
  errSentence(io, HANDOVER);
  for (let told = start; !isOver(); await clock.sleep(POLL)) {
    const now = store.logger()?.now ?? start;
    // Before its first step the logger has the time of the wall.
    if (now < start || now > end) continue;
    if (now >= handover) return;
    if (now - told < TOLD_EVERY) continue;
    told = now;
    io.err(
      `It is ${timeText(now, zoneOf(scenario))}; yours from ${timeText(handover, zoneOf(scenario))} on.`,
    );
  }
}

const practised = ({ store }: PlayOptions): string =>
  store === undefined
    ? 'Practice is over; nothing of it was kept.'
    : `Practice is over; what you entered is in ${store}.`;

/** The zone of the first visit that will be opened. */
const zoneOf = ({ crew }: Scenario): string =>
  crew.flatMap((action) => (action.does === 'open-visit' ? [action.zone] : []))[0] ?? 'UTC';

const isRunning = (child: ChildProcess): boolean => child.exitCode === null && child.signalCode === null;

async function openWhenStarted(
  path: string,
  logger: Logger,
  signal: AbortSignal,
  { clock }: Context,
): Promise<Store> {
  const begun = clock.monotonic();
  while (clock.monotonic() - begun < START_MAX && isRunning(logger.process) && !signal.aborted) {
    if (existsSync(path)) {
      const store = tryToOpen(path);
      if (store?.logger()) return store;
      store?.close();
    }
    await clock.sleep(POLL);
  }
  if (signal.aborted) throw new Refusal(STOPPED);
  throw new Refusal(`The logger did not start: ${await logger.lastWords()}`);
}

/** The store once it has been created whole. */
function tryToOpen(path: string): Store | null {
  try {
    return openStoreToRead(path);
  } catch (error) {
    if (error instanceof Refusal) return null;
    throw error;
  }
}

function resultOf(store: Store, scenario: Scenario): VisitResult {
  const season = seasonOf(store);
  return visitResult(store, season, [...season.visits.values()], scenario.end);
}

/** The result for people; of cups that were to be counted by keys, and are not, what is missing. */
function resultWords(store: Store, scenario: Scenario, { store: kept }: PlayOptions): string {
  const missing = missingCounts([...seasonOf(store).cups.values()]);
  if (missing.length === 0) return resultInWords(resultOf(store, scenario));
  const unless =
    kept === undefined
      ? 'This morning is over, and nothing of it was kept.'
      : `This morning is over; count on with watch --store ${kept}.`;
  return waitsForCounts(missing, unless).join('\n');
}
