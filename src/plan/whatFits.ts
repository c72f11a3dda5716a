import type { UtcMs } from '../units/time.js';
import { type DayQuestion, planDay } from './day.js';

/** What of a day that is too long would fit: its first yards, or fewer cups in each; null when nothing does. */
export interface WhatFits {
  readonly yards: number;
  readonly yardsEnd: UtcMs | null;
  /** In every yard; null when not even one does. */
  readonly cupsAYard: number | null;
}

export function whatFits(question: DayQuestion): WhatFits {
  const { yards } = question;
  const first = (count: number) => planDay({ ...question, yards: yards.slice(0, count) });
  let [count, end]: [number, UtcMs | null] = [0, null];
  for (let tried = yards.length - 1; tried >= 1 && count === 0; tried -= 1) {
    const day = first(tried);
    if (day.fits) [count, end] = [tried, day.end];
  }
  const most = Math.max(...yards.map(({ cups }) => cups.length));
  for (let cups = most - 1; cups >= 1; cups -= 1) {
    const fewer = yards.map((yard) => ({ ...yard, cups: yard.cups.slice(0, cups) }));
    if (planDay({ ...question, yards: fewer }).fits) return { yards: count, yardsEnd: end, cupsAYard: cups };
  }
  return { yards: count, yardsEnd: end, cupsAYard: null };
}
