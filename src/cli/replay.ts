import type { Command } from 'commander';
import { refuseUnfit } from '../logger/openToLog.js';
import { keepStore, takeStore } from '../logger/presence.js';
import { checkRecording, replay } from '../logger/replay.js';
import { openStoreToWrite } from '../store/store.js';
import { type Context, onStore, type StoreOptions } from './context.js';

/** The command `replay`: a recording into a store. */
export function define(command: Command, context: Context): void {
  onStore(command.argument('<file>', 'what log --record wrote')).action(
    (file: string, options: StoreOptions) => replayFile(file, options, context),
  );
}

/** The file is read to its end before the store is touched, so that a damaged one leaves nothing behind. */
async function replayFile(file: string, options: StoreOptions, { io, clock }: Context): Promise<void> {
  const recording = await checkRecording(file);
  refuseUnfit(options.store, process.pid, clock.utc(), io.err);
  const store = openStoreToWrite(options.store, clock.utc());
  try {
    takeStore(store, process.pid, clock.utc());
    const beat = () => {
      const now = clock.utc();
      keepStore(store, { pid: process.pid, beat: now, now, speed: 1, state: 'logging' });
    };
    const { sections, events, readings, torn } = await replay(recording, store, io.err, beat);
    for (const line of torn) io.err(`${file}, line ${line}: cut off while it was written; left out`);
    if (options.json) io.out(JSON.stringify({ sections, events, readings, torn }));
    else io.out(`${readings} readings in ${events} events are in ${store.path}`);
  } finally {
    store.clearLogger(process.pid);
    store.close();
  }
}
