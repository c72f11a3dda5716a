import type { Command } from 'commander';
import { type Bundle, writeBundle } from '../bundle/write.js';
import { installedVersion } from '../units/installed.js';
import { type Context, nowIn, onStore, reading, type StoreOptions } from './context.js';

interface WriteOptions extends StoreOptions {
  readonly visit: readonly string[];
  readonly out: string;
  readonly withPeople?: true;
  readonly public?: true;
}

/** The command `bundle`: what is handed to somebody else to check, and what others handed over. */
export function define(bundle: Command, context: Context): void {
  onStore(bundle.command('write'))
    .description('write visits into a new folder that anybody can read, check and judge again')
    .requiredOption('--visit <visits...>', 'the visits')
    .requiredOption('--out <folder>', 'the folder to make; none is overwritten')
    .option('--with-people', 'with names and words of people; they are left out otherwise')
    .option('--public', 'for publishing: other names for yards, colonies and cups, coarser dates, no facts')
    .action((options: WriteOptions) => write(options, context));
}

function write({ store: path, json, ...options }: WriteOptions, context: Context): void {
  const { io } = context;
  reading(path, (store) => {
    const written = writeBundle(store, {
      visits: options.visit,
      out: options.out,
      withPeople: options.withPeople === true,
      isPublic: options.public === true,
      reports: [],
      writtenBy: installedVersion(),
      now: nowIn(path, context),
    });
    io.out(json ? JSON.stringify(written) : inWords(written));
    if (options.withPeople)
      io.err(
        `${options.out} holds names and words of people in texts.csv; hand it only to those who may read them.`,
      );
  });
}

const inWords = ({ folder, visits, cups, readings, chains }: Bundle): string =>
  [
    `${folder} holds ${visits.join(', ')}: ${cups} cups, ${readings} readings.`,
    ...chains.map(({ store, facts, head }) => `store ${store}: ${facts} facts, chain head ${head}`),
  ].join('\n');
