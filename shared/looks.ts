/** A result that was, or will be, looked at more than once, and the level of each of its looks. */
export interface Looks {
  readonly count: number;
  readonly level: number;
}

/**
 * The level of every interval of an entry's efficacy, also its check intervals and corrected ones; those of infestation
 * and of single cups keep `level`, which is that of its report.
 */
export const levelOfEntry = ({ looks }: { readonly looks?: Looks | undefined }, level: number): number =>
  looks?.level ?? level;

/** A level as percent with at most two decimals: "97.5 %", "98.33 %". */
export const levelInWords = (level: number): string => `${Number((level * 100).toFixed(2))} %`;

/** More looks than this are a slip. */
export const LOOKS_MAX = 100;

/**
 * The level of each of `looks` looks at one growing result, so that all of them together keep `level`:
 * 1 - (1 - level) / looks (Bonferroni). Looking again after more cups, each time at the full level, finds a
 * difference that is not there far more often than promised. Throws a RangeError for a number that is not
 * whole from 1 to 100.
 */
export function levelOfLook(level: number, looks: number): number {
  if (!(Number.isInteger(looks) && looks >= 1 && looks <= LOOKS_MAX))
    throw new RangeError(`the looks are ${looks}; they must be a whole number from 1 to ${LOOKS_MAX}`);
  return 1 - (1 - level) / looks;
}
