import { MENU } from './menu.js';

/** All keys and numbers, as lines of text. */
export const HELP: readonly string[] = [
  'Type a number and Enter to do something; the questions follow one by one.',
  'Type or scan the label of a cup and Enter to look at it; numbers are then about that cup.',
  '',
  ...MENU.map(({ name, about }, index) => `${String(index + 1).padStart(2)} ${name.padEnd(11)} ${about}`),
  '',
  'Keys, while nothing is typed. Those in brackets are on the number pad.',
  'Enter       the answer that is offered, or what is typed',
  'Esc  [*]    one question back, out of a form, back to the carriers',
  'a    [+]    alarms are seen: silent until something new; + works in forms, too',
  'm           mute, and sound again',
  'f    [/]    degrees Fahrenheit, and Celsius again',
  't           black on white for the sun, and back',
  'u           withdraw what was entered last; it stays on record, with the reason',
  'left, right other carriers; up, down: scroll',
  '?    [.]    this help',
  'q           close the screen; logging goes on',
  '',
  'A label that begins with a small letter: the space bar first, for such letters may be keys.',
  'Nothing is recorded before the last Enter. Cups that are ruled out are turned and counted like all others.',
  'Whoever counts should not know: no state is shown meanwhile, no ruling of a cup before it is read, no result before all are.',
];
