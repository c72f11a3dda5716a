import wrapAnsi from 'wrap-ansi';
import type { VisitResult } from '../visit/result.js';
import { efficacyInWords } from './efficacy.js';
import { rulingsInWords } from './judge.js';

/** Lines for people are no longer than this, so that the narrowest common terminal shows them whole. */
const COLUMNS_MAX = 79;

/** A visit's result for people: the answer, then how each cup was judged, then the cautions. */
export function resultInWords({ efficacy, rulings, rules, withoutOverrules }: VisitResult): string {
  const judged =
    rulings.length === 0
      ? 'No cup has been turned yet, so none is judged.'
      : `How each cup was judged, from temperatures and times alone\n\n${rulingsInWords(rulings, rules)}`;
  const byRuleAlone =
    withoutOverrules === null
      ? []
      : [
          `Without what people changed after counting or overruled\n\n${efficacyInWords(withoutOverrules, rules.line).trimEnd()}`,
        ];
  return [efficacyInWords(efficacy, rules.line).trimEnd(), ...byRuleAlone, judged, CAUTIONS]
    .map(wrapped)
    .join('\n\n');
}

/** Stands under every result for people. */
const CAUTIONS =
  "A cup is a test, not a treatment. Follow the product's label and local rules, and ask a licensed adviser before treating. Wash cups in alcohol outdoors, away from flames, engines and chargers; never in a closed vehicle.";

/** Breaks long lines between words; what follows a break is indented further than the line's beginning. */
export function wrapped(text: string): string {
  return text
    .split('\n')
    .map((line) => {
      if (line.length <= COLUMNS_MAX) return line;
      const indent = ' '.repeat(line.length - line.trimStart().length);
      const [first = '', ...rest] = wrapAnsi(line.trimStart(), COLUMNS_MAX - indent.length - 2).split('\n');
      return [indent + first, ...rest.map((part) => `${indent}  ${part}`)].join('\n');
    })
    .join('\n');
}
