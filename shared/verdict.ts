import type { Interval, Verdict } from './types.js';

/** What a verdict rests on. */
export interface Evidence {
  readonly interval: Interval | null;
  /** Strip cups with mites that count. */
  readonly cupsWithMites: number;
  readonly mites: number;
}

/** What a verdict is measured against. */
export interface Bar {
  readonly line: number;
  readonly minCups: number;
  readonly minMites: number;
}

/** Above the line when the lower limit reaches it, below it when the upper limit does not. */
export function decide({ interval, cupsWithMites, mites }: Evidence, bar: Bar): Verdict {
  if (interval === null || cupsWithMites < bar.minCups || mites < bar.minMites) return 'too-few';
  return sideOf(interval, bar.line);
}

/** The side of the line on which an interval lies, whatever it rests on. */
export function sideOf([lower, upper]: Interval, line: number): Exclude<Verdict, 'too-few'> {
  if (lower >= line) return 'above-line';
  return upper < line ? 'below-line' : 'undecided';
}

/** A share as percent with at most one decimal, as in "70 %". */
export const percent = (share: number): string => `${Number((share * 100).toFixed(1))} %`;

/** A verdict as print has it, always with its object: "below the 70 % line". */
export function verdictInWords(verdict: Verdict, line: number): string {
  switch (verdict) {
    case 'above-line':
      return `above the ${percent(line)} line`;
    case 'below-line':
      return `below the ${percent(line)} line`;
    case 'undecided':
      return `undecided about the ${percent(line)} line`;
    case 'too-few':
      return `too few cups or mites to judge against the ${percent(line)} line`;
  }
}
