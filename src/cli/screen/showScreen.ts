import { dirname } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { isAlive } from '../../logger/presence.js';
import type { Controls } from '../../screen/controls.js';
import type { LookoutOptions } from '../../screen/lookout.js';
import type { EntryOptions } from '../../screen/session.js';
import { diskHindrance } from '../../store/fileSystem.js';
import type { Store } from '../../store/store.js';
import type { Clock } from '../../units/clock.js';
import type { UtcMs } from '../../units/time.js';
import { machineAt } from '../checkup/machine.js';

/** Opens the screen on this process's terminal; loaded only when it is wanted. */
export async function showScreen(what: {
  readonly store: Store;
  readonly now: () => UtcMs;
  readonly clock: Clock;
  readonly title: string;
  /** In which the time is shown until a visit names its own. */
  readonly zone: string;
  readonly results: () => readonly string[];
  readonly finished: () => boolean;
  readonly entry: EntryOptions;
  readonly controls: Controls;
}): Promise<'quit' | 'finished'> {
  // A picture lives for a second; left alone, V8 makes room for many of them and collects them late.
  for (const setting of ['--semi-space-growth-factor=1', '--optimize-for-size']) setFlagsFromString(setting);
  const { runScreen } = await import('../../screen/runScreen.js');
  const { stdin, stdout, env } = process;
  return runScreen({ ...what, ...diskBeside(what.store), stdin, stdout, env });
}

/** How the disk is doing that a store lies on: free bytes, null when unknown, and what it keeps a living logger from. */
export function diskBeside({
  path,
}: Pick<Store, 'path'>): Required<Pick<LookoutOptions, 'diskFree' | 'hindered'>> {
  const machine = machineAt('/');
  return {
    diskFree: () => machine.fileSystem(dirname(path))?.freeBytes ?? null,
    hindered: ({ pid }) => (isAlive(pid) ? diskHindrance(path) : null),
  };
}
