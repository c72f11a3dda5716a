import type { Command } from 'commander';
import { CONTROLS, type Controls } from '../../screen/controls.js';

/** What of the screen can be chosen before it opens. */
export interface ScreenChoice {
  readonly plain?: true;
  readonly fahrenheit?: true;
  readonly sun?: true;
  readonly muted?: true;
}

/** Adds to a command what keys change on its screen, and sentences in place of the screen. */
export const withScreen = (command: Command): Command =>
  command
    .option(
      '--plain',
      'tell changes as sentences, a line each, in place of the screen (always so in a pipe, or with TERM=dumb)',
    )
    .option('--fahrenheit', 'begin with degrees Fahrenheit, as the key f')
    .option('--sun', 'begin black on white for the sun, as the key t')
    .option('--muted', 'begin without sounds, as the key m');

/** How the screen begins. */
export const controlsOf = ({ fahrenheit, sun, muted }: ScreenChoice): Controls => ({
  ...CONTROLS,
  unit: fahrenheit ? 'F' : 'C',
  theme: sun ? 'sun' : 'shade',
  muted: muted === true,
});

/** Whether there are to be lines in place of the screen: when asked for, and where no screen can be drawn. */
export const isPlain = (
  { plain }: ScreenChoice,
  { isTTY, term } = { isTTY: process.stdout.isTTY === true, term: process.env['TERM'] },
): boolean => plain === true || !isTTY || term === 'dumb';
