import { BEES, TRAY, WASH } from './countForms.js';
import { LIFT, LOAD, MOVE, REPLACE, SEAT, TURN } from './eventForms.js';
import type { Form } from './form.js';
import { CORRECT, NOTE, OVERRULE, SPOIL } from './mendForms.js';
import { MUTE, QUIT, WHO } from './screenForms.js';
import { CLOSE_VISIT, OPEN_VISIT, RESULTS } from './visitForms.js';

/** What can be chosen besides a form. */
export type Choosable = Form | 'undo' | 'help' | 'theme';

/** One thing that can be done. */
interface Entry {
  readonly name: string;
  readonly does: Choosable;
  readonly about: string;
  /** The commands that do the same without the screen, each perhaps with the option that makes it so. */
  readonly commands: readonly string[];
}

const of = (form: Form, ...commands: readonly string[]): Entry => ({
  name: form.name,
  does: form,
  about: form.title,
  commands,
});

/** What the crew can do, by number: the first nine are the day's work, on one row of a number pad's digits. */
export const MENU: readonly Entry[] = [
  of(LOAD, 'cup load'),
  of(SEAT, 'cup seat'),
  of(TURN, 'cup turn'),
  of(TRAY, 'cup count --tray', 'cup count --why'),
  of(WASH, 'cup count --wash', 'cup count --wash-again'),
  of(BEES, 'cup count --bees', 'cup count --dead'),
  of(MOVE, 'cup move'),
  of(LIFT, 'cup lift'),
  of(REPLACE, 'cup replace'),
  of(SPOIL, 'cup spoil'),
  of(NOTE, 'cup note'),
  of(CORRECT, 'cup correct', 'cup withdraw'),
  {
    name: 'undo',
    does: 'undo',
    about: 'Withdraw what was entered last on this screen',
    commands: ['cup withdraw'],
  },
  of(OVERRULE, 'cup overrule'),
  of(OPEN_VISIT, 'visit open'),
  of(CLOSE_VISIT, 'visit close'),
  of(RESULTS, 'visit result'),
];

/** What can be set for this screen; the numbers go on from those of the list. */
export const SETTINGS: readonly Pick<Entry, 'name' | 'does' | 'about'>[] = [
  { name: WHO.name, does: WHO, about: WHO.title },
  { name: MUTE.name, does: MUTE, about: 'Mute the alarms of this screen, and let them sound again' },
  { name: 'sun', does: 'theme', about: 'Black on white for the sun, and back' },
  { name: QUIT.name, does: QUIT, about: 'Close the screen; logging goes on' },
];

/** The entry of the list that a number means. */
export const chosenBy = (typed: string): Choosable | null =>
  /^\d{1,2}$/.test(typed) ? ([...MENU, ...SETTINGS][Number(typed) - 1]?.does ?? null) : null;
