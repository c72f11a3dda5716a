import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Command, Option } from 'commander';
import { checkToGather, gatherBundles } from '../bundle/gather.js';
import { newFile } from '../export/newFile.js';
import { operatorName, seasonPage } from '../report/season/seasonPage.js';
import { openStoreToWrite, type Store } from '../store/store.js';
import { installedVersion } from '../units/installed.js';
import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import { cupsOf, type Season, seasonOf, type Visit } from '../visit/season.js';
import { type SeasonResult, seasonResult } from '../visit/seasonResult.js';
import { stillToCount } from '../visit/stillToCount.js';
import { type Context, nowIn, onStore, reading, type StoreOptions, several } from './context.js';
import { seasonCsv } from './season/seasonCsv.js';
import { seasonFigures } from './season/seasonFigures.js';
import { seasonInWords } from './season/seasonInWords.js';
import { visitOf } from './visit.js';

const FORMATS = ['text', 'csv', 'figures', 'html'] as const;
type Format = (typeof FORMATS)[number];
/** Formats that the name of a file asks for. */
const ENDINGS = ['csv', 'html'] as const satisfies readonly Format[];

interface SeasonOptions extends StoreOptions {
  readonly visit?: readonly string[];
  readonly chosen?: string;
  readonly withPeople?: true;
  readonly final?: true;
  readonly format?: Format;
  readonly out?: string;
}

/** The command `season`: many visits taken together, from the store or from bundles. */
export function define(season: Command, context: Context): void {
  onStore(season.argument('[bundles...]', 'folders of bundles to take instead of the store'))
    .option('--visit <visit>', 'only this visit; may be repeated', several)
    .option('--chosen <words>', 'how the yards were chosen, such as "drawn by lot from all members"')
    .option(
      '--final',
      'take in visits whose cups are not fully counted; not for whoever counts them (default: they are left out and named)',
    )
    .option('--with-people', 'with the names of who loaded the cups; they are left out otherwise')
    .addOption(
      new Option(
        '--format <format>',
        'text, csv (a row a yard and arm), figures (CSV of all else, a figure a row: spread, prediction, share below the line, flow, losses, lots) or html (a page to print) (default: as --out ends, else text)',
      ).choices(FORMATS),
    )
    .option('--out <file>', 'the file to make; none is overwritten (default: standard output)')
    .action((bundles: string[], options: SeasonOptions) => showSeason(bundles, options, context));
}

/** The format that was asked for, by name or by how the file is called. */
const formatOf = ({ format, out }: Pick<SeasonOptions, 'format' | 'out'>): Format =>
  format ?? ENDINGS.find((each) => out?.toLowerCase().endsWith(`.${each}`)) ?? 'text';

async function showSeason(
  bundles: readonly string[],
  options: SeasonOptions,
  context: Context,
): Promise<void> {
  const text =
    bundles.length === 0
      ? reading(options.store, (store, season) =>
          told(store, season, nowIn(options.store, context), options, context, false),
        )
      : await fromBundles(bundles, context, (store, now) =>
          told(store, seasonOf(store), now, options, context, true),
        );
  if (options.out === undefined) context.io.out(text);
  else {
    await newFile(options.out, process.pid, (write) => write(Buffer.from(`${text.trimEnd()}\n`)));
    context.io.err(`written: ${options.out}`);
  }
}

/** Gathers bundles into a store that is gone afterwards. */
async function fromBundles<T>(
  folders: readonly string[],
  { clock }: Context,
  task: (store: Store, now: UtcMs) => T,
): Promise<T> {
  const bundles = [];
  for (const folder of folders) bundles.push(await checkToGather(folder));
  const now = clock.utc();
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-season-'));
  try {
    const store = openStoreToWrite(join(folder, 'season.sqlite'), now);
    try {
      gatherBundles(store, bundles, () => store.keepText(''), now);
      return task(store, now);
    } finally {
      store.close();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function told(
  store: Store,
  season: Season,
  now: UtcMs,
  options: SeasonOptions,
  { io }: Context,
  isGathered: boolean,
): string {
  const named =
    options.visit === undefined
      ? [...season.visits.values()]
      : [...new Set(options.visit)].map((name) => visitOf(season, name));
  const { visits, remarks } = counted(season, named, options.final === true);
  const format = formatOf(options);
  if (format === 'csv') for (const remark of remarks) io.err(remark);
  const found = seasonResult(store, season, visits, now);
  const result = { ...found, remarks: [...remarks, ...found.remarks] };
  const chosen = options.chosen ?? null;
  const withPeople = options.withPeople === true;
  if (options.json) return JSON.stringify(forReaders(result, chosen, withPeople));
  if (format === 'csv') return seasonCsv(result);
  if (format === 'figures') return seasonFigures(result, chosen, withPeople);
  if (format === 'text') return seasonInWords(result, chosen, withPeople);
  return seasonPage(result, {
    chosen,
    withPeople,
    version: installedVersion(),
    chains: chainsInWords(store, isGathered),
  });
}

/**
 * The visits that may be told of. Whoever still counts must know no ruling and no efficacy of what is counted next.
 *
 * @throws {Refusal} when none is left
 */
function counted(
  season: Season,
  visits: readonly Visit[],
  isFinal: boolean,
): { readonly visits: readonly Visit[]; readonly remarks: readonly string[] } {
  const open = visits.flatMap((visit) => {
    const cups = stillToCount(cupsOf(season, visit.visit)).length;
    return cups === 0 ? [] : [{ visit, said: `${visit.visit} (${cups} ${cups === 1 ? 'cup' : 'cups'})` }];
  });
  if (open.length === 0) return { visits, remarks: [] };
  const names = open.map(({ said }) => said).join(', ');
  if (isFinal)
    return {
      visits,
      remarks: [
        `not fully counted, and taken in all the same: ${names}; whoever counts them must not read this`,
      ],
    };
  const whole = visits.filter((visit) => !open.some((each) => each.visit === visit));
  const why = `whoever counts must know no ruling and no efficacy: ${names}`;
  if (whole.length === 0)
    throw new Refusal(
      `No visit is fully counted yet, and ${why}. Give --final when no further count will come, or when you do not count.`,
    );
  return {
    visits: whole,
    remarks: [`left out until all cups are counted, for ${why}; --final takes them in`],
  };
}

const forReaders = (result: SeasonResult, chosen: string | null, withPeople: boolean) => ({
  ...result,
  chosen,
  operators: result.operators.map((each, index) => ({
    ...each,
    name: each.name === null ? null : operatorName(each, index + 1, withPeople),
  })),
});

/** Every chain that facts came from, to compare with printed heads; not that of a store which only gathered them. */
const chainsInWords = (store: Store, isGathered: boolean): string =>
  store
    .chains()
    .slice(isGathered ? 1 : 0)
    .map(({ store: id, links }) => `Store ${id}: ${links.length} facts, chain head ${links.at(-1)!.hash}.`)
    .join(' ');
