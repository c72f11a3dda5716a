import { type Command, Option } from 'commander';
import { refuseUnfit } from '../logger/openToLog.js';
import type { Recording } from '../logger/recordTo.js';
import type { Say } from '../logger/say.js';
import type { Outage } from '../logger/storing.js';
import { openStoreToWrite } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { inZone, localZone } from '../units/zone.js';
import { clockBehindInWords } from '../visit/clockBehind.js';
import { AlreadySaid } from './alreadySaid.js';
import { type Context, type StoreOptions, withStore } from './context.js';
import { LOG_FORMATS, type LogFormat, sayIn } from './logging/logLines.js';
import { mirrored } from './logging/mirrorPump.js';
import { serviceManager } from './logging/serviceManager.js';
import {
  namesSource,
  openSources,
  type SourceLine,
  type SourceOptions,
  sourceLines,
  withSources,
} from './logging/sources.js';
import { scenarioBehind, scenarioNamed, speedOf } from './scenarioOptions.js';
import { stopSignal } from './stopSignal.js';
import { loggedIn } from './whoDoes.js';

interface LogOptions extends StoreOptions, SourceOptions {
  readonly record?: string;
  readonly emulate?: string;
  readonly speed: string;
  readonly untilStdinEnds?: true;
  readonly logFormat: LogFormat;
}

/** The command `log`: the logger, a process of its own that needs no terminal. */
export function define(command: Command, context: Context): void {
  withSources(withStore(command))
    .option('--record <file>', 'also write down all that comes from the sources, for replay')
    .option('--emulate <scenario>', 'log the emulated carriers of a scenario instead of ports')
    .option('--speed <times>', 'with --emulate: how many times faster than real, or max', '1')
    .addOption(
      new Option('--log-format <format>', 'how it says what happens: sentences, or a JSON object a line')
        .choices(LOG_FORMATS)
        .default('text'),
    )
    .addOption(new Option('--until-stdin-ends', 'stop when standard input ends').hideHelp())
    .action((options: LogOptions) => {
      if (namesSource(options) === (options.emulate !== undefined))
        command.error(
          'error: give either sources (--port, --one-wire, --stock, --sources) or --emulate with a scenario',
        );
      if (options.record !== undefined && options.emulate !== undefined)
        command.error('error: --record goes with sources; a scenario can be emulated again at any time');
      return log(options, context);
    });
}

async function log(options: LogOptions, context: Context): Promise<void> {
  const say = await sayIn(options.logFormat, context.io);
  const { signal, stop, done } = stopSignal();
  // Whoever started this one for itself holds the other end; when it is gone, however it went, so are we.
  if (options.untilStdinEnds) process.stdin.resume().once('end', stop).once('error', stop);
  try {
    const lines = sourceLines(options);
    await (options.emulate === undefined
      ? logSources(options, lines, say, signal, context.clock)
      : logScenario(options.store, options.emulate, options.speed, say, signal, context.clock));
  } catch (error) {
    if (options.logFormat === 'text' || !(error instanceof Refusal)) throw error;
    say(error.message, undefined, 'error');
    throw new AlreadySaid();
  } finally {
    // An open standard input would keep the process.
    if (options.untilStdinEnds) process.stdin.destroy();
    done();
  }
}

/** Sources are opened before a store is made, so that a wrong name leaves nothing behind. */
async function logSources(
  { store: path, record }: LogOptions,
  lines: readonly SourceLine[],
  say: Say,
  signal: AbortSignal,
  clock: Clock,
): Promise<void> {
  const [{ runLogger }, { openToLog }, { nextBoot }, { recordTo }, { keepAwake, keeperFor }] =
    await Promise.all([
      import('../logger/logger.js'),
      import('../logger/openToLog.js'),
      import('../logger/nextBoot.js'),
      import('../logger/recordTo.js'),
      import('../logger/awake.js'),
    ]);
  const manager = serviceManager({ env: process.env, pid: process.pid, clock, say });
  const onAlive = (outage: Outage | null) =>
    manager?.alive(outage === null ? 'logging' : `nothing can be stored: ${outage.words}`);
  const isService = manager !== null;
  let store = await openToLog({ path, clock, pid: process.pid, say, signal, isService, onAlive });
  if (signal.aborted) return store?.close();
  let recording: Recording | null = null;
  let stopKeeping = () => {};
  try {
    const sources = await openSources(lines, { clock, nextBoot: (board) => nextBoot(store!, board) });
    recording = record === undefined ? null : recordTo(record, path, say);
    const opened = store ?? openStoreToWrite(path, clock.utc(), say);
    store = opened;
    const behind = clockBehindInWords(opened, clock.utc(), (at) => inZone(at, localZone()));
    if (behind !== null) say(behind, undefined, 'warn');
    stopKeeping = keepAwake({ store: opened, clock, say, keeper: keeperFor(process.platform, process.pid) });
    await mirrored(opened, clock, say, () =>
      runLogger({
        store: opened,
        whenUnwritable: 'wait',
        sources,
        clock,
        pid: process.pid,
        who: loggedIn(),
        say,
        signal,
        recording,
        onAlive,
      }),
    );
  } finally {
    stopKeeping();
    store?.close();
    recording?.close();
  }
}

async function logScenario(
  path: string,
  name: string,
  speedText: string,
  say: Say,
  signal: AbortSignal,
  clock: Clock,
): Promise<void> {
  scenarioNamed(name);
  refuseUnfit(path, process.pid, clock.utc(), say);
  const speed = speedOf(speedText);
  const { playScenario } = await import('../logger/playScenario.js');
  const store = openStoreToWrite(path, clock.utc());
  const scenario = scenarioBehind(name, store.newestReading()?.utc ?? null);
  try {
    await playScenario({ scenario, speed, store, clock, pid: process.pid, say, signal });
  } finally {
    store.close();
  }
}
