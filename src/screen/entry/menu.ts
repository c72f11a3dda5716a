import { BEES, TRAY, WASH } from './countForms.js';
import { LIFT, LOAD, MOVE, REPLACE, SEAT, TURN } from './eventForms.js';
import type { Form } from './form.js';
import { CORRECT, NOTE, OVERRULE, SPOIL } from './mendForms.js';
import { CLOSE_VISIT, OPEN_VISIT, RESULTS } from './visitForms.js';

/** What can be chosen besides a form. */
export type Choosable = Form | 'undo' | 'help';

/** What the crew can do, by number: the first nine are the day's work, on one row of a number pad's digits. */
export const MENU: readonly { readonly name: string; readonly does: Choosable; readonly about: string }[] = [
  ...[LOAD, SEAT, TURN, TRAY, WASH, BEES, MOVE, LIFT, REPLACE, SPOIL, NOTE, CORRECT].map((form) => ({
    name: form.name,
    does: form,
    about: form.title,
  })),
  { name: 'undo', does: 'undo', about: 'Take back what was entered last on this screen' },
  ...[OVERRULE, OPEN_VISIT, CLOSE_VISIT, RESULTS].map((form) => ({
    name: form.name,
    does: form,
    about: form.title,
  })),
];

/** The entry of the list that a number means. */
export const chosenBy = (typed: string): Choosable | null =>
  /^\d{1,2}$/.test(typed) ? (MENU[Number(typed) - 1]?.does ?? null) : null;
