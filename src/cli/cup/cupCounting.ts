import { type Command, Option } from 'commander';
import { BEE_METHODS, DEAD_BEES } from '../../store/cupFacts.js';
import { Refusal } from '../../units/refusal.js';
import { countCup, type Reading } from '../../visit/actions.js';
import type { Cup } from '../../visit/cup.js';
import { type Context, report, typedCount } from '../context.js';
import { WrongCommandLine } from '../wrongCommandLine.js';
import { cupNamed, type EntryOptions, enter, onCupEntry, wordsOf } from './cupEntry.js';

interface CountOptions extends EntryOptions {
  readonly tray?: string;
  readonly wash?: string;
  readonly washAgain?: string;
  readonly bees?: string;
  readonly beesHow?: (typeof BEE_METHODS)[number];
  readonly beesCv?: string;
  readonly dead?: (typeof DEAD_BEES)[number];
  readonly why?: string;
}

/** `cup count`: mites on the tray, mites in the washes, bees. */
export function defineCounting(cup: Command, context: Context): void {
  onCupEntry(cup, 'count [cup]', 'mites on the tray, mites in the wash, bees; each when it is known')
    .option('--tray <mites>', 'mites on the tray')
    .option('--wash <mites>', 'mites in the wash (alcohol: outdoors, no flame, engine off, lid on)')
    .option('--wash-again <mites>', 'mites in one more wash of the same bees')
    .option('--bees <number>', 'bees in the cup')
    .addOption(new Option('--bees-how <method>', 'how the number of bees was found').choices(BEE_METHODS))
    .option('--bees-cv <percent>', 'coefficient of variation of bees that were weighed or estimated, as 10')
    .addOption(new Option('--dead <how-many>', 'dead bees seen at the turn').choices(DEAD_BEES))
    .option('--why <words>', 'why an earlier count is corrected')
    .action((first: string | undefined, options: CountOptions) => {
      const label = cupNamed(first, options);
      const reading = readingOf(options);
      const why = options.why === undefined ? null : wordsOf('why', options.why);
      const made = enter(label, options, context, (season, entering) =>
        countCup(season, label, reading, why, entering),
      );
      report(
        context.io,
        options.json,
        made.facts,
        `cup ${label}: ${readWords(made.season.cups.get(label)!)} (recorded for ${made.when})`,
      );
    });
}

/** What is read of a cup, and what is not. */
export function readWords({ counts, washes }: Pick<Cup, 'counts' | 'washes'>): string {
  const word = (value: number | null) => value ?? 'not read';
  const wash = washes.length > 1 ? `${counts.wash} (${washes.join(' + ')})` : word(counts.wash);
  return `tray ${word(counts.tray)}, wash ${wash}, bees ${word(counts.bees)}`;
}

function readingOf(options: CountOptions): Reading {
  const washAgain = typedCount('wash-again', options.washAgain) ?? undefined;
  const beesCv = options.beesCv === undefined ? undefined : percent(options.beesCv);
  const { beesHow, dead } = options;
  if ((beesHow === 'weighed' || beesHow === 'estimated') && beesCv === undefined)
    throw new WrongCommandLine(
      `Bees that were ${beesHow} come with how sure that is: give --bees-cv, as 10 for 10 % (docs/statistics.md).`,
    );
  if (beesCv !== undefined && (beesHow === undefined || beesHow === 'counted'))
    throw new WrongCommandLine(
      '--bees-cv is for bees that were weighed or estimated; say which with --bees-how.',
    );
  const reading: Reading = {
    tray: typedCount('tray', options.tray),
    wash: typedCount('wash', options.wash),
    bees: typedCount('bees', options.bees),
    washAgain,
    beesHow,
    beesCv,
    dead,
  };
  if (Object.values(reading).every((value) => value === null || value === undefined))
    throw new WrongCommandLine('Give at least one of --tray, --wash, --wash-again, --bees and --dead.');
  return reading;
}

function percent(text: string): number {
  const share = /^\d{1,3}(\.\d{1,2})?$/.test(text) ? Number(text) / 100 : Number.NaN;
  if (!(share > 0 && share <= 1))
    throw new Refusal(`--bees-cv ${text} is not a percentage above 0 and up to 100; write 10 for 10 %.`);
  return share;
}
