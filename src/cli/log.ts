import type { Command } from 'commander';
import { openStoreToWrite } from '../store/store.js';
import type { CarrierId } from '../units/ids.js';
import { parseCarrierId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { type Context, onStore, type StoreOptions, typed } from './context.js';
import { scenarioNamed, speedOf } from './scenarioOptions.js';

export interface PortOptions {
  readonly port?: readonly string[];
}
interface LogOptions extends StoreOptions, PortOptions {
  readonly emulate?: string;
  readonly speed: string;
}

const several = (value: string, before: readonly string[] | undefined) => [...(before ?? []), value];

export const PORT_OPTION = [
  '--port <port[=carrier]>',
  "a board's serial port, and the carrier it is built into; may be given several times",
  several,
] as const;

/** The command `log`: the logger, a process of its own that needs no terminal. */
export function addLog(program: Command, context: Context): void {
  onStore(program.command('log'))
    .description('log boards into a store until stopped (Ctrl-C)')
    .option(...PORT_OPTION)
    .option('--emulate <scenario>', 'log the emulated carriers of a scenario instead of ports')
    .option('--speed <times>', 'with --emulate: how many times faster than real, or max', '1')
    .action((options: LogOptions) => log(options, context));
}

async function log(options: LogOptions, { io, clock }: Context): Promise<void> {
  const ports = (options.port ?? []).map(portAndCarrier);
  if ((ports.length === 0) === (options.emulate === undefined))
    throw new Refusal('Give either --port (once a board) or --emulate with a scenario.');
  const scenario = options.emulate === undefined ? null : scenarioNamed(options.emulate);
  const speed = speedOf(options.speed);
  const { signal, done } = stopSignal();
  const store = openStoreToWrite(options.store, clock.utc());
  const common = { store, clock, pid: process.pid, say: (sentence: string) => io.err(sentence), signal };
  try {
    if (scenario) {
      const { playScenario } = await import('../logger/playScenario.js');
      await playScenario({ ...common, scenario, speed, onMinute: () => {} });
    } else {
      const [{ runLogger }, { serialBoard }] = await Promise.all([
        import('../logger/logger.js'),
        import('../carrier/serialBoard.js'),
      ]);
      const sources = ports.map(({ path, carrier }) => ({ source: serialBoard(path, clock), carrier }));
      await runLogger({ ...common, sources });
    }
  } finally {
    store.close();
    done();
  }
}

/** Reads `PORT=CARRIER` or `PORT`. */
export function portAndCarrier(text: string): { path: string; carrier: CarrierId | null } {
  const at = text.lastIndexOf('=');
  if (at < 0) return { path: text, carrier: null };
  return { path: text.slice(0, at), carrier: typed(parseCarrierId, 'carrier name', text.slice(at + 1)) };
}

/** A signal that is aborted when the process is asked to stop. */
function stopSignal(): { signal: AbortSignal; done: () => void } {
  const controller = new AbortController();
  const stop = () => controller.abort();
  const names = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
  for (const name of names) process.on(name, stop);
  return {
    signal: controller.signal,
    done: () => {
      for (const name of names) process.off(name, stop);
    },
  };
}
