import type { Command } from 'commander';
import type { Context } from './context.js';

/**
 * Every command, in the order of `--help`. A command's own file is loaded only when it is called, so that
 * help and the small commands start at once.
 */
export const COMMANDS: readonly {
  readonly name: string;
  readonly summary: string;
  readonly load: () => Promise<{ define(command: Command, context: Context): void }>;
}[] = [
  {
    name: 'play',
    summary: 'the main job on emulated carriers in an invented vehicle, start to result',
    load: () => import('./play.js'),
  },
  {
    name: 'watch',
    summary: 'show the cups live; starts a logger when sources are given and none runs',
    load: () => import('./watch.js'),
  },
  {
    name: 'log',
    summary: 'log boards and other sources into a store until stopped (Ctrl-C)',
    load: () => import('./log.js'),
  },
  {
    name: 'replay',
    summary: 'put what log --record wrote into a store',
    load: () => import('./replay.js'),
  },
  {
    name: 'sync',
    summary: 'read what carriers logged alone, and offer the marks of the day',
    load: () => import('./sync.js'),
  },
  {
    name: 'carrier',
    summary: 'list, pair, check, flash and set carriers and their boards',
    load: () => import('./carrier.js'),
  },
  {
    name: 'visit',
    summary: 'open, close, list and judge visits to yards',
    load: () => import('./visit.js'),
  },
  { name: 'cup', summary: 'record what is done with a cup', load: () => import('./cup.js') },
  {
    name: 'probe',
    summary: 'list probes and say which slot each one sits in',
    load: () => import('./probe.js'),
  },
  {
    name: 'plan',
    summary: 'the evening before: chance of an answer, the day, field sheets and labels',
    load: () => import('./plan.js'),
  },
  {
    name: 'report',
    summary: 'pages to print: for the beekeeper in plain words, for the lab in full',
    load: () => import('./report.js'),
  },
  {
    name: 'checkup',
    summary: 'check the computer and the store before a day in the field',
    load: () => import('./checkup.js'),
  },
  {
    name: 'bundle',
    summary: 'write visits as an open bundle, check one, gather those of others',
    load: () => import('./bundle.js'),
  },
  {
    name: 'backup',
    summary: 'copy the store, checked, also while a logger writes to it',
    load: () => import('./backup.js'),
  },
  {
    name: 'restore',
    summary: 'put a backup in the place of a store that is gone',
    load: () => import('./restore.js'),
  },
  {
    name: 'season',
    summary: 'take visits or bundles together: yards side by side, and where the cups went',
    load: () => import('./season.js'),
  },
  {
    name: 'export',
    summary: 'write readings as CSV, Parquet or line protocol',
    load: () => import('./export.js'),
  },
  {
    name: 'mirror',
    summary: 'send readings and rulings to a time-series server',
    load: () => import('./mirror.js'),
  },
  { name: 'judge', summary: 'rule on exposures from CSV files', load: () => import('./judgeCommand.js') },
  {
    name: 'efficacy',
    summary: 'efficacy and infestation of yards from a CSV file of counts',
    load: () => import('./efficacyCommand.js'),
  },
  {
    name: 'completion',
    summary: 'make a shell complete commands, options, visits and cups',
    load: () => import('./completion.js'),
  },
];
