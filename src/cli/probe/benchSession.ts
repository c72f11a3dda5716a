import { type Command, Option } from 'commander';
import { isLogging, loggerTime } from '../../logger/presence.js';
import type { Say } from '../../logger/say.js';
import { kindOfFile } from '../../store/header.js';
import { openStoreToWrite, type Store } from '../../store/store.js';
import type { Clock } from '../../units/clock.js';
import { Refusal } from '../../units/refusal.js';
import { durationMs, later, minutes, seconds, type UtcMs, utcMs } from '../../units/time.js';
import { type Scan, ScanGatherer } from '../../visit/scans.js';
import { type Context, onStore, type StoreOptions } from '../context.js';
import { openSources, type SourceOptions, sourceArgs, sourceLines, withSources } from '../logging/sources.js';
import { refuseUnlessBench, scenarioBehind, speedOf } from '../scenarioOptions.js';
import { stopSignal } from '../stopSignal.js';
import { byOption, whoDoes } from '../whoDoes.js';
import { WrongCommandLine } from '../wrongCommandLine.js';

/** What the commands that measure probes have in common. */
export interface BenchOptions extends StoreOptions, SourceOptions {
  readonly emulate?: string;
  readonly speed: string;
  readonly by?: string;
  readonly minutes: string;
}

/** Adds these options to a command. */
export function withBench(command: Command, defaultMinutes: number): Command {
  return withSources(onStore(command))
    .addOption(new Option('--emulate <bench>', 'try it on an emulated carrier, in a store of its own'))
    .option('--speed <times>', 'with --emulate: how many times faster than real, or max', '1')
    .option(...byOption('who does it'))
    .option('--minutes <number>', 'give up after so long', `${defaultMinutes}`);
}

/** Readings as they come while something is measured. */
export interface BenchSession {
  readonly store: Store;
  /** When it began, by the logger's time. */
  readonly begun: UtcMs;
  /** The logger's own time. */
  now(): UtcMs;
  /** Whole scans in order, until the given time has passed, the source ends, or the person stops. */
  scans(until: UtcMs): AsyncGenerator<Scan>;
  /** Why the scans ended, in words. */
  ending(): string;
  /** The last thing that was said of the boards; null when nothing was. */
  note(): string | null;
}

const POLL = seconds(0.1);
/** The lines of one scan come within a fraction of this. */
const SCAN_WHOLE_AFTER = seconds(2);
const BATCH = 2000;
const MINUTES_MAX = 240;

/** Where the readings come from. */
interface Feeding {
  now(): UtcMs;
  readonly from: UtcMs;
  hasEnded(): boolean;
  stop(): Promise<void>;
}

/**
 * Hands on the readings of the logger that runs on the store, of sources of its own, or of an emulated bench; whatever
 * is read stays in the store.
 */
export async function onBench<T>(
  options: BenchOptions,
  command: Command,
  context: Context,
  task: (session: BenchSession) => Promise<T>,
): Promise<T> {
  const hasSource = sourceArgs(options).length > 0;
  if (options.emulate !== undefined && hasSource)
    throw new WrongCommandLine('Give either a source, such as --port, or --emulate, not both.');
  const { clock } = context;
  let note: string | null = null;
  const say: Say = (sentence, source) => {
    note = source === undefined ? sentence : `${source}: ${sentence}`;
    if (options.json !== true && !process.stderr.isTTY) context.io.err(note);
  };
  const { signal, done } = stopSignal();
  const open = options.emulate !== undefined ? emulated : hasSource ? ownSources : running;
  let store: Store | null = null;
  let feeding: Feeding | null = null;
  try {
    const opened = await open(options, command, { clock, say }, signal);
    ({ store, feeding } = opened);
    let why = '';
    return await task({
      store,
      begun: feeding.from,
      now: () => opened.feeding.now(),
      ending: () => why,
      note: () => note,
      async *scans(until) {
        let seen = opened.seen;
        const gatherer = new ScanGatherer();
        let newsAt = clock.monotonic();
        const inTime = (scan: Scan) => scan.at >= opened.feeding.from;
        for (;;) {
          // Asked first: what was read by then is in the store.
          const hasEnded = opened.feeding.hasEnded();
          const rows = opened.store.readingsAfter(seen, BATCH);
          seen = rows.at(-1)?.id ?? seen;
          opened.seen = seen;
          if (rows.length > 0) newsAt = clock.monotonic();
          const isStale = gatherer.isHolding && clock.monotonic() - newsAt > SCAN_WHOLE_AFTER;
          const scans = [
            ...gatherer.add(rows),
            ...(rows.length === 0 && (hasEnded || isStale) ? gatherer.flush() : []),
          ].filter(inTime);
          for (const scan of scans) {
            if (scan.at > until) {
              why = 'the time is over';
              return;
            }
            yield scan;
          }
          if (signal.aborted) why = 'it was stopped';
          else if (rows.length === 0 && hasEnded) why = 'no more readings come';
          else if (rows.length === 0 && opened.feeding.now() > later(until, SCAN_WHOLE_AFTER))
            why = 'the time is over';
          if (why !== '') return;
          if (rows.length === 0) await clock.sleep(POLL, signal);
        }
      },
    });
  } finally {
    await feeding?.stop();
    store?.close();
    done();
  }
}

interface Opened {
  readonly store: Store;
  readonly feeding: Feeding;
  /** The number of the last reading that was taken. */
  seen: number;
}
type Open = (
  options: BenchOptions,
  command: Command,
  context: { readonly clock: Clock; readonly say: Say },
  signal: AbortSignal,
) => Promise<Opened>;

/** The logger that runs already. */
const running: Open = async ({ store: path }, _command, { clock }) => {
  const none = new Refusal(
    `No logger runs on ${path}; start one with log, or name the board's port with --port.`,
  );
  if (kindOfFile(path) !== 'store') throw none;
  const store = openStoreToWrite(path, clock.utc());
  const row = store.logger();
  if (row === null || !isLogging(row, clock.utc())) {
    store.close();
    throw none;
  }
  const now = () => loggerTime(store.logger() ?? row, clock.utc());
  return {
    store,
    seen: store.newestReading()?.id ?? 0,
    feeding: {
      now,
      from: now(),
      hasEnded: () => !isLogging(store.logger(), clock.utc()),
      stop: async () => {},
    },
  };
};

/** Boards, or other sources, that this process logs for the time being. */
const ownSources: Open = async (options, _command, { clock, say }, signal) => {
  const lines = sourceLines(options);
  refuseBesideLogger(options.store, clock.utc());
  const [{ runLogger }, { nextBoot }] = await Promise.all([
    import('../../logger/logger.js'),
    import('../../logger/nextBoot.js'),
  ]);
  let opened: Store | null = null;
  const sources = await openSources(lines, { clock, nextBoot: (board) => nextBoot(opened!, board) });
  const store = openStoreToWrite(options.store, clock.utc());
  opened = store;
  const stop = new AbortController();
  const from = clock.utc();
  const seen = store.newestReading()?.id ?? 0;
  const run = followed(
    runLogger({
      store,
      whenUnwritable: 'end',
      sources,
      clock,
      pid: process.pid,
      who: whoDoes(options),
      say,
      signal: AbortSignal.any([signal, stop.signal]),
    }),
    stop,
  );
  return { store, seen, feeding: { ...run, now: () => clock.utc(), from } };
};

/** An emulated carrier in this process. */
const emulated: Open = async (options, command, { clock, say }, signal) => {
  if (command.getOptionValueSource('store') === 'default')
    throw new WrongCommandLine(
      'Name a store of its own with --store: what an emulated carrier reads must not mix with real readings.',
    );
  refuseUnlessBench(options.emulate!);
  const speed = speedOf(options.speed);
  refuseBesideLogger(options.store, clock.utc());
  const { playScenario } = await import('../../logger/playScenario.js');
  const store = openStoreToWrite(options.store, clock.utc());
  const newest = store.newestReading();
  const scenario = scenarioBehind(options.emulate!, newest?.utc ?? null);
  const stop = new AbortController();
  const run = followed(
    playScenario({
      scenario,
      speed,
      store,
      clock,
      pid: process.pid,
      say,
      signal: AbortSignal.any([signal, stop.signal]),
    }),
    stop,
  );
  const now = () => {
    const row = store.logger();
    return row === null ? scenario.start : utcMs(Math.min(loggerTime(row, clock.utc()), scenario.end));
  };
  return { store, seen: newest?.id ?? 0, feeding: { ...run, now, from: scenario.start } };
};

/** Keeps an eye on a run that goes on beside: whether it is over, and what it failed of. */
function followed(run: Promise<void>, stop: AbortController): Pick<Feeding, 'hasEnded' | 'stop'> {
  let isOver = false;
  let failure: unknown = null;
  const settled = run
    .catch((error: unknown) => {
      failure = error;
    })
    .finally(() => {
      isOver = true;
    });
  return {
    hasEnded: () => {
      if (failure !== null) throw failure;
      return isOver;
    },
    stop: async () => {
      stop.abort();
      await settled;
    },
  };
}

function refuseBesideLogger(path: string, now: UtcMs): void {
  if (kindOfFile(path) !== 'store') return;
  const store = openStoreToWrite(path, now);
  try {
    const row = store.logger();
    if (row !== null && isLogging(row, now))
      throw new Refusal(
        `${path} has a logger already (process ${row.pid}); leave --port and --emulate out, and its readings are used.`,
      );
  } finally {
    store.close();
  }
}

/** When to give up. */
export function deadlineOf(options: BenchOptions, begun: UtcMs): UtcMs {
  const value = /^\d{1,3}$/.test(options.minutes) ? Number(options.minutes) : 0;
  if (value < 1 || value > MINUTES_MAX)
    throw new Refusal(
      `--minutes ${options.minutes} is not possible; write a whole number from 1 to ${MINUTES_MAX}.`,
    );
  return later(begun, minutes(value));
}

/** Minutes and seconds since the beginning. */
export function elapsed(from: UtcMs, to: UtcMs): string {
  const whole = Math.max(0, Math.round(durationMs(to - from) / 1000));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
