import { resolve } from 'node:path';
import type { Command } from 'commander';
import { type Checked, checkBundle } from '../bundle/check.js';
import { sentence } from '../bundle/finding.js';
import { type Checkable, checkToGather, gatherBundles, refuseConflictsAmong } from '../bundle/gather.js';
import { CHAIN_LIMITS } from '../bundle/readme.js';
import { type Bundle, writeBundle } from '../bundle/write.js';
import { leftovers } from '../export/newFile.js';
import { isAlive } from '../logger/presence.js';
import { kindOfFile } from '../store/header.js';
import { openStoreToRead } from '../store/store.js';
import { installedVersion } from '../units/installed.js';
import { seasonOf } from '../visit/season.js';
import { listed, stillToCount } from '../visit/stillToCount.js';
import { CheckFailed } from './checkFailed.js';
import { type Context, nowIn, onStore, type StoreOptions, writing } from './context.js';
import { cupsInWords } from './cupsInWords.js';
import { stopSignal } from './stopSignal.js';
import { byOption, whoDoes } from './whoDoes.js';

interface WriteOptions extends StoreOptions {
  readonly visit: readonly string[];
  readonly out: string;
  readonly parquet?: true;
  readonly withPeople?: true;
  readonly public?: true;
}

/** The command `bundle`: what is handed to somebody else to check, and what others handed over. */
export function define(bundle: Command, context: Context): void {
  onStore(bundle.command('write'))
    .description('write visits into a new folder that anybody can read, check and judge again')
    .requiredOption('--visit <visits...>', 'the visits')
    .requiredOption('--out <folder>', 'the folder to make; none is overwritten')
    .option('--parquet', 'each table as Parquet, too')
    .option('--with-people', 'with names and words of people; they are left out otherwise')
    .option('--public', 'for publishing: other names for yards, colonies and cups, coarser dates, no facts')
    .action((options: WriteOptions) => write(options, context));

  bundle
    .command('check <folder>')
    .description('find what was changed in a bundle, and judge its cups again')
    .option('--json', 'print JSON')
    .action((folder: string, { json }: { readonly json?: true }) => check(folder, json === true, context));

  onStore(bundle.command('gather <folders...>'))
    .description('take bundles of other stores into this one, beside what it has')
    .option(...byOption('who does it'))
    .action((folders: string[], options: GatherOptions) => gather(folders, options, context));
}

interface GatherOptions extends StoreOptions {
  readonly by?: string;
}

async function gather(folders: readonly string[], options: GatherOptions, context: Context): Promise<void> {
  // Before a store is made for them.
  const bundles: Checkable[] = [];
  for (const folder of folders) bundles.push(await checkToGather(folder));
  const name = whoDoes(options);
  const now = nowIn(options.store, context);
  const isNew = kindOfFile(options.store) === 'absent';
  // Nothing is left of a store that was to be made for what nobody could take.
  if (isNew) refuseConflictsAmong(bundles);
  const found = writing(context, options.store, (store) => {
    try {
      return gatherBundles(store, bundles, () => store.keepText(name), now);
    } catch (error) {
      if (isNew) context.io.err(`${options.store} was made for it and is empty.`);
      throw error;
    }
  });
  if (options.json) return context.io.out(JSON.stringify(found));
  for (const { store, facts, newFacts } of found.chains)
    context.io.out(`store ${store}: ${newFacts} of its ${facts} facts are new`);
  context.io.out(
    `${found.newReadings} readings are new; visits: ${found.visits.join(', ')}. visit result shows them.`,
  );
}

/** More than so many findings are one that repeats itself; --json prints all. */
const FINDINGS_SHOWN = 50;

async function check(folder: string, isJson: boolean, { io }: Context): Promise<void> {
  const checked = await checkBundle(folder);
  const { findings, uncompared } = checked;
  if (isJson) io.out(JSON.stringify(checked));
  else {
    for (const finding of findings.slice(0, FINDINGS_SHOWN)) io.out(sentence(finding));
    if (findings.length > FINDINGS_SHOWN)
      io.out(`... and ${findings.length - FINDINGS_SHOWN} more; --json prints them all.`);
    for (const line of summary(folder, checked)) io.out(line);
  }
  if (findings.length > 0)
    throw new CheckFailed(
      `${folder} is not as it was written: ${findings.length} ${findings.length === 1 ? 'finding' : 'findings'}.`,
    );
  if (uncompared.length > 0)
    throw new CheckFailed(
      `${folder} is not checked as a whole: look at what could not be compared (${uncompared.join(', ')}), or check it with stillwarm ${checked.about!.writtenBy}.`,
    );
}

/** The first words on a bundle in which nothing was found: never of more files than were compared. */
function nothingFound(folder: string, { about, files, uncompared }: Checked): string {
  const count = uncompared.length;
  if (count === 0) return `${folder}: nothing found in ${files} files`;
  return `${folder}: nothing found in ${files - count} of ${files} files; ${count === 1 ? '1 page' : `${count} pages`} could not be compared, because ${count === 1 ? 'it was' : 'they were'} made by version ${about!.writtenBy}: check ${count === 1 ? 'it' : 'them'} with that version`;
}

function summary(folder: string, checked: Checked): string[] {
  const { findings, about, judged, readings, proven, notes } = checked;
  if (about === null) return [];
  const heads = about.chains.map(
    ({ store, facts, head }) => `store ${store}: ${facts} facts, chain head ${head}`,
  );
  if (about.isPublic)
    return [
      ...(findings.length > 0
        ? []
        : [`${nothingFound(folder, checked)}; ${cupsInWords(judged)} judged again, all equal.`]),
      ...notes,
      'It is a public bundle: no chain is in it, so it cannot show that exposures, counts and readings are those that were recorded. Whoever has the store can compare its chains with these heads:',
      ...heads,
    ];
  return [
    ...(findings.length > 0
      ? []
      : [
          `${nothingFound(folder, checked)}; ${cupsInWords(judged)} judged again, all equal; of ${readings} readings ${proven} are proven by a chain.`,
          ...(proven === readings
            ? []
            : [
                `${readings - proven} readings are not sealed yet: a change in them that moves no figure of a ruling would not show if the manifest was made anew, too.`,
              ]),
        ]),
    ...notes,
    ...heads,
    CHAIN_LIMITS,
  ];
}

async function write({ store: path, json, ...options }: WriteOptions, context: Context): Promise<void> {
  const { io } = context;
  const now = nowIn(path, context);
  for (const left of leftovers(resolve(options.out), isAlive))
    io.err(`${left} was left by a bundle write that was killed; nothing needs it, remove it.`);
  const stopping = stopSignal();
  const store = openStoreToRead(path);
  try {
    const written = await writeBundle(store, {
      visits: options.visit,
      out: options.out,
      withPeople: options.withPeople === true,
      isPublic: options.public === true,
      asParquet: options.parquet === true,
      writtenBy: installedVersion(),
      now,
      signal: stopping.signal,
    });
    io.out(json ? JSON.stringify(written) : inWords(written));
    const open = stillToCount(
      [...seasonOf(store).cups.values()].filter(({ visit }) => options.visit.includes(visit)),
    );
    if (open.length > 0)
      io.err(
        `${listed('still to be counted', open)}. Whoever counts them does not open rulings.csv and counts.csv before: they tell how the cups were ruled on.`,
      );
    if (options.public)
      io.err(
        `Look before you publish it: names of actives stay as they were typed (${written.actives.join('; ') || 'none'}), and so do the ids of stores, boards and probes.`,
      );
  } finally {
    store.close();
    stopping.done();
  }
  if (options.withPeople)
    io.err(
      `${options.out} holds names and words of people in texts.csv and in reports/lab-*.html; hand it only to those who may read them.`,
    );
}

const inWords = ({ folder, visits, cups, readings, chains }: Bundle): string =>
  [
    `${folder} holds ${visits.join(', ')}: ${cupsInWords(cups)}, ${readings} readings.`,
    ...chains.map(({ store, facts, head }) => `store ${store}: ${facts} facts, chain head ${head}`),
  ].join('\n');
