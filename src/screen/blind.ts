import { withoutState } from './blindWords.js';
import { BEES, TRAY, WASH } from './entry/countForms.js';
import type { Desk } from './entry/desk.js';
import type { Form } from './entry/form.js';
import type { Situation } from './situation.js';

const COUNTING: ReadonlySet<Form> = new Set([TRAY, WASH, BEES]);

/** Whether somebody counts just now. */
export const isCounting = ({ filling }: Pick<Desk, 'filling'>): boolean =>
  filling !== null && COUNTING.has(filling.form);

/**
 * What is shown to whoever counts: slots without temperature and trend, and cups that ride without what is, or will be,
 * said of them; they are counted next. Alarms stay, for a cup that rides can still be saved, and say only what to do.
 */
export const forCounting = (situation: Situation): Situation => ({
  ...situation,
  slots: situation.slots.map((slot) => ({
    ...slot,
    hiddenUntil: situation.at,
    cup: slot.cup === null ? null : { ...slot.cup, isBlind: true as const },
  })),
  alarms: situation.alarms.map(withoutState),
});
