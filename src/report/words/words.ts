import type { Verdict } from '../../../shared/index.js';
import type { ArmParts } from '../../visit/result.js';
import type { When } from '../beekeeper/changed.js';
import type { CoolCups, LeftOut, Step } from '../beekeeper/findings.js';
import type { Lack } from '../beekeeper/lacking.js';

/**
 * All words of the pages for people who keep bees. A second language is a second file of these. Figures come as text,
 * written by `figures.ts` in the way of `locale`; whole numbers come as numbers where the words hang on them.
 *
 * Plain words: a reader of fifteen understands them at once. A verdict is always said with its object, the line.
 */
export interface Words {
  /** By which numbers and dates are written, as `en-GB`. Its first part is the page's language. */
  readonly locale: string;
  readonly list: (items: readonly string[]) => string;

  readonly title: string;
  readonly yard: (yard: string, day: string) => string;
  /** An active and a lot as one name; both are as people typed them. */
  readonly arm: (arm: ArmParts) => string;
  /** One yard's part, or one active's and lot's of a yard. */
  readonly part: (yard: string, arm: string | null) => string;

  readonly tested: {
    readonly head: string;
    readonly how: (minutes: number) => string;
    readonly yard: (cups: {
      strip: number;
      noStrip: number;
      colonies: number;
      arms: readonly string[];
    }) => string;
  };

  readonly found: {
    readonly head: string;
    readonly verdict: (verdict: Verdict, line: string) => string;
    readonly range: (low: string, high: string, best: string) => string;
    readonly noRange: (best: string) => string;
    readonly noStrip: string;
    readonly noMites: string;
    readonly nothingCounts: string;
    readonly line: (line: string) => string;
    readonly moreCups: (cups: number | null) => string;
    readonly withLeftOut: (verdict: string, low: string | null, high: string | null) => string;
    /** A person changed what counts before the mites were known, after, or both; the verdict is that without it. */
    readonly byPerson: (when: When, verdict: string) => string;
    /** Counts of mites that were corrected; the verdict is that of the counts as first entered. */
    readonly corrected: (counts: number, verdict: string) => string;
    readonly withoutEither: (verdict: string) => string;
    readonly cool: (cool: number, of: number) => string;
    readonly picture: string;
    /** How sure the ranges are: so many of so many tests. */
    readonly sure: (right: string, of: string) => string;
    /** A range that is wider than the others because of several looks. */
    readonly looks: (looks: number, right: string, of: string) => string;
    readonly lineLabel: (line: string) => string;
    readonly axis: string;
    readonly noEstimate: string;
  };

  readonly colonies: {
    readonly head: string;
    readonly how: (right: string, of: string) => string;
    readonly axis: string;
    readonly none: string;
    readonly alt: (colony: string, per100: string) => string;
    readonly noColony: (cup: string) => string;
    readonly actionLevel: (level: string, source: string, date: string) => string;
  };

  readonly leftOut: {
    readonly head: string;
    readonly none: string;
    readonly because: (cups: number, why: LeftOut['why'], names: string) => string;
    /** What rulings rest on; `isPersonHeard` when a person set some of them aside. */
    readonly byWarmth: (isPersonHeard: boolean) => string;
  };

  readonly reasons: {
    readonly head: string;
    readonly intro: string;
    /** `cool`: how many of the cups were. */
    readonly items: (lots: readonly string[], cups: CoolCups) => readonly string[];
  };
  readonly limits: { readonly head: string; readonly text: string };
  readonly again: {
    readonly head: string;
    readonly text: string;
    readonly moreCups: string;
    /** What to do where there was too little to judge by, by what was lacking. */
    readonly lacks: Readonly<Record<Lack, string>>;
  };
  readonly cautions: { readonly head: string; readonly text: string };

  readonly waiting: {
    /** Of a page that has nothing but this to tell. */
    readonly title: string;
    readonly head: (step: Step | 'load') => string;
    readonly note: (step: Step | 'load') => string;
    readonly count: (done: number, of: number) => string;
    readonly cup: string;
    readonly colony: string;
    readonly tray: string;
    readonly next: string;
    readonly steps: Readonly<Record<Step | 'none', string>>;
  };

  readonly message: {
    readonly head: string;
    readonly range: (part: string, low: string, high: string, verdict: string) => string;
    readonly noRange: (part: string, verdict: string) => string;
    readonly noStrip: (part: string) => string;
    readonly waiting: (part: string, step: Step | 'load') => string;
  };

  readonly foot: {
    readonly made: (when: string, version: string) => string;
    readonly rules: (name: string, version: string) => string;
    readonly chain: (store: string, facts: number, hash: string) => string;
  };
}
