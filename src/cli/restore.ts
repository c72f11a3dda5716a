import type { Command } from 'commander';
import { restore } from '../store/backup.js';
import { inWords } from './backup.js';
import { type Context, onStore, type StoreOptions } from './context.js';

/** The command `restore`: a backup in the place of a store that is gone. */
export function define(command: Command, { io }: Context): void {
  onStore(command)
    .requiredOption('--from <file>', 'the backup; it stays as it is')
    .action(({ store, from, json }: StoreOptions & { readonly from: string }) => {
      const restored = restore(from, store);
      if (restored.mayLack)
        io.err(
          `${from} is not a backup but a store's own file, and there is no ${from}-wal: if that was not copied with it, the newest entries are missing. Compare the chain head with a report or with checkup.`,
        );
      io.out(json ? JSON.stringify(restored) : `${store} is restored from ${from}: ${inWords(restored)}.`);
    });
}
