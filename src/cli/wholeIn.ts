import { Refusal } from '../units/refusal.js';

/** A whole number that a person typed behind an option. */
export function wholeIn(option: string, text: string, least: number, most: number): number {
  if (!/^\d{1,10}$/.test(text) || Number(text) < least || Number(text) > most)
    throw new Refusal(`--${option} ${text} will not do; write a whole number from ${least} to ${most}.`);
  return Number(text);
}
