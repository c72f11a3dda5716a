import { MENU, SETTINGS } from './menu.js';

/** All keys and numbers, as lines of text. */
export const HELP: readonly string[] = [
  'Type a number and Enter to do something; the questions follow one by one.',
  'Type or scan the label of a cup and Enter to look at it; numbers are then about that cup.',
  'All of it works on a number pad (with NumLock), but for words and for labels that are not offered.',
  '',
  ...[...MENU, ...SETTINGS].map(
    ({ name, about }, index) => `${String(index + 1).padStart(2)} ${name.padEnd(11)} ${about}`,
  ),
  '',
  'Signs of the number pad:',
  'Enter       the answer that is offered, or what is typed',
  '*           one question back, out of a form, back to the carriers',
  '-           what does not fit: other carriers and lists, the next lines, the next offers; at the end the first again',
  '+           alarms are seen: silent until something new; in forms, too',
  '/           degrees Fahrenheit, and Celsius again; before the last Enter of a form: another name',
  '.           this help',
  'In forms these signs are keys before anything is typed; - and / after that, and all of them in words, are typed.',
  '',
  'Letters, while nothing is typed, do the same at once:',
  'q quit, m mute, t sun, w who, u undo, f degrees, a seen, ? or h help, Esc back; arrows turn pages and scroll',
  'Ctrl-L draws the screen anew, when another program has written on it; every ten seconds it does so by itself.',
  'A label that begins with a small letter: the space bar first, for such letters may be keys.',
  '',
  'Nothing is recorded before the last Enter, which shows all of it. Cups that are ruled out are turned and counted like all others.',
  'Whoever counts should not know: no state is shown meanwhile, no ruling of a cup before it is read, no result before all are.',
];
