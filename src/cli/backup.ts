import type { Command } from 'commander';
import { backUp, type Copied } from '../store/backup.js';
import { type Context, onStore, type StoreOptions } from './context.js';

/** The command `backup`: a checked copy of the store, also while a logger writes to it. */
export function define(command: Command, { io }: Context): void {
  onStore(command)
    .requiredOption('--out <file>', 'the file to make; none is overwritten')
    .action(({ store, out, json }: StoreOptions & { readonly out: string }) => {
      const copied = backUp(store, out);
      io.out(json ? JSON.stringify(copied) : `${out} is a checked copy of ${store}: ${inWords(copied)}.`);
    });
}

/** What a copy holds, with the chain's head as reports print it. */
export function inWords({ facts, readings, head, damagedBlocks }: Copied): string {
  const damaged =
    damagedBlocks === 0
      ? ''
      : `; ${damagedBlocks} of its blocks of sealed readings are damaged (checkup names them), the rest is sound`;
  return `${facts} facts, ${readings} readings, chain head ${head}${damaged}`;
}
