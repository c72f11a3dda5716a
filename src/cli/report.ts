import type { Command } from 'commander';
import { beekeeperPage } from '../report/beekeeper/beekeeperPage.js';
import { findingsOf } from '../report/beekeeper/findings.js';
import { messagesOf } from '../report/beekeeper/message.js';
import type { ActionLevel } from '../report/beekeeper/pictures.js';
import { chainHeads } from '../report/chainHeads.js';
import { labPage } from '../report/lab/labPage.js';
import { materialOf } from '../report/lab/material.js';
import { LANGUAGES, type Language } from '../report/words/languages.js';
import { installedVersion } from '../units/installed.js';
import { parseDecimal } from '../units/number.js';
import { Refusal } from '../units/refusal.js';
import { type Context, nowIn, reading, type StoreOptions, withStore } from './context.js';
import { handOut } from './handOut.js';
import { visitOf } from './visit.js';
import { WrongCommandLine } from './wrongCommandLine.js';

interface BeekeeperOptions extends StoreOptions {
  visit: string[];
  out?: string;
  language: string;
  final?: true;
  message?: true;
  actionLevel?: string;
  actionSource?: string;
  actionDate?: string;
}

/** The command `report`: pages for the beekeeper and for the lab. */
export function define(report: Command, context: Context): void {
  withStore(report.command('beekeeper'))
    .description('one page for a beekeeper, to print: what was found in all his yards, in plain words')
    .requiredOption('--visit <visit...>', 'the visits to his yards')
    .option('--out <file>', 'the HTML file to write (default: standard output)')
    .option('--language <language>', `its words: ${Object.keys(LANGUAGES).join(', ')}`, 'en')
    .option('--final', 'give the answer although cups are not fully counted and will not be')
    .option('--message', 'print only the sentences to send as text messages')
    .option('--action-level <mites>', 'mites per 100 bees at which he acts, by his own word')
    .option('--action-source <words>', 'where he has that level from')
    .option('--action-date <words>', 'of when that is')
    .action((options: BeekeeperOptions) => beekeeper(options, context));

  withStore(report.command('lab'))
    .description('all of a visit for the lab: traces, rulings, counts, figures, and what they rest on')
    .requiredOption('--visit <visit>', 'the visit')
    .option('--out <file>', 'the HTML file to write (default: standard output)')
    .option(
      '--final',
      'tell temperatures, rulings and figures although cups are not fully counted; not for whoever counts them',
    )
    .action((options: StoreOptions & { visit: string; out?: string; final?: true }) =>
      reading(options.store, (store, season) => {
        const visit = visitOf(season, options.visit);
        const now = nowIn(options.store, context);
        const material = materialOf(store, season, visit, now, installedVersion(), options.final === true);
        handOut(labPage(material), options.out, context);
      }),
    );
}

function beekeeper(options: BeekeeperOptions, context: Context): void {
  const words = languageOf(options.language);
  const action = actionLevelOf(options);
  reading(options.store, (store, season) => {
    const now = nowIn(options.store, context);
    const visits = [...new Set(options.visit)].map((name) => visitOf(season, name));
    const all = visits.map((visit) => findingsOf(store, season, visit, now, options.final === true));
    const text =
      options.message === true
        ? all.flatMap((each) => messagesOf(words, each)).join('\n')
        : beekeeperPage(words, all, action, { now, version: installedVersion(), chains: chainHeads(store) });
    handOut(text, options.out, context);
  });
}

function languageOf(name: string) {
  if (!Object.hasOwn(LANGUAGES, name))
    throw new Refusal(`--language ${name} is not known; it is one of ${Object.keys(LANGUAGES).join(', ')}.`);
  return LANGUAGES[name as Language];
}

function actionLevelOf({ actionLevel, actionSource, actionDate }: BeekeeperOptions): ActionLevel | null {
  if (actionLevel === undefined && actionSource === undefined && actionDate === undefined) return null;
  if (actionLevel === undefined || actionSource === undefined || actionDate === undefined)
    throw new WrongCommandLine(
      'A level is shown only with where it comes from; give --action-level, --action-source and --action-date together.',
    );
  const per100 = parseDecimal(actionLevel);
  if (per100 === null || per100 <= 0 || per100 > 100)
    throw new Refusal(
      `--action-level ${actionLevel} is no number of mites per 100 bees; write one such as 2.5.`,
    );
  return { per100, source: actionSource, date: actionDate };
}
