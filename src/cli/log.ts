import { type Command, Option } from 'commander';
import { refuseIfLogging } from '../logger/presence.js';
import { kindOfFile } from '../store/header.js';
import { openStoreToRead, openStoreToWrite } from '../store/store.js';
import type { CarrierId } from '../units/ids.js';
import { parseCarrierId } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { type Context, type StoreOptions, typed, withStore } from './context.js';
import { scenarioNamed, speedOf } from './scenarioOptions.js';
import { stopSignal } from './stopSignal.js';

export interface PortOptions {
  readonly port?: readonly string[];
}
interface LogOptions extends StoreOptions, PortOptions {
  readonly emulate?: string;
  readonly speed: string;
  readonly untilStdinEnds?: true;
}

const several = (value: string, before: readonly string[] | undefined) => [...(before ?? []), value];

export const PORT_OPTION = [
  '--port <port[=carrier]>',
  "a board's serial port, and the carrier it is built into; may be given several times",
  several,
] as const;

/** The command `log`: the logger, a process of its own that needs no terminal. */
export function define(command: Command, context: Context): void {
  withStore(command)
    .option(...PORT_OPTION)
    .option('--emulate <scenario>', 'log the emulated carriers of a scenario instead of ports')
    .option('--speed <times>', 'with --emulate: how many times faster than real, or max', '1')
    .addOption(new Option('--until-stdin-ends', 'stop when standard input ends').hideHelp())
    .action((options: LogOptions) => {
      if ((options.port === undefined) === (options.emulate === undefined))
        command.error('error: give either --port (once a board) or --emulate with a scenario');
      return log(options, context);
    });
}

async function log(options: LogOptions, context: Context): Promise<void> {
  const ports = (options.port ?? []).map(portAndCarrier);
  const { signal, stop, done } = stopSignal();
  // Whoever started this one for itself holds the other end; when it is gone, however it went, so are we.
  if (options.untilStdinEnds) process.stdin.resume().once('end', stop).once('error', stop);
  try {
    refuseSecondLogger(options.store, context.clock.utc());
    await (options.emulate === undefined
      ? logPorts(options.store, ports, signal, context)
      : logScenario(options.store, options.emulate, options.speed, signal, context));
  } finally {
    // An open standard input would keep the process.
    if (options.untilStdinEnds) process.stdin.destroy();
    done();
  }
}

/** Ports are opened before the store is touched, so that a wrong name leaves nothing behind. */
async function logPorts(
  path: string,
  ports: readonly { path: string; carrier: CarrierId | null }[],
  signal: AbortSignal,
  { io, clock }: Context,
): Promise<void> {
  const [{ runLogger }, { serialBoard }] = await Promise.all([
    import('../logger/logger.js'),
    import('../carrier/serialBoard.js'),
  ]);
  const sources = ports.map((port) => ({ source: serialBoard(port.path, clock), carrier: port.carrier }));
  for (const { source } of sources) await source.open();
  const store = openStoreToWrite(path, clock.utc());
  try {
    await runLogger({ store, sources, clock, pid: process.pid, say: io.err, signal });
  } finally {
    store.close();
  }
}

async function logScenario(
  path: string,
  name: string,
  speedText: string,
  signal: AbortSignal,
  { io, clock }: Context,
): Promise<void> {
  const scenario = scenarioNamed(name);
  const speed = speedOf(speedText);
  const { playScenario } = await import('../logger/playScenario.js');
  const store = openStoreToWrite(path, clock.utc());
  try {
    await playScenario({ scenario, speed, store, clock, pid: process.pid, say: io.err, signal });
  } finally {
    store.close();
  }
}

export function refuseSecondLogger(path: string, now: UtcMs): void {
  if (kindOfFile(path) !== 'store') return;
  const store = openStoreToRead(path);
  try {
    refuseIfLogging(store, process.pid, now);
  } finally {
    store.close();
  }
}

/** Reads `PORT=CARRIER` or `PORT`. */
export function portAndCarrier(text: string): { path: string; carrier: CarrierId | null } {
  const at = text.lastIndexOf('=');
  if (at < 0) return { path: text, carrier: null };
  return { path: text.slice(0, at), carrier: typed(parseCarrierId, 'carrier name', text.slice(at + 1)) };
}
