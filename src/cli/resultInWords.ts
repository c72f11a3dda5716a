import type { VisitResult } from '../visit/result.js';
import { efficacyInWords } from './efficacy.js';
import { rulingsInWords } from './judge.js';

/** A visit's result for people: the rulings first, then what they leave to count. */
export function resultInWords(result: VisitResult): string {
  const rulings =
    result.rulings.length === 0
      ? 'No cup has been turned yet, so none is judged.'
      : rulingsInWords(result.rulings, result.rules);
  return `${rulings}\n\n${efficacyInWords(result.efficacy, result.rules.line)}${CAUTIONS}`;
}

/** Stands under every result for people. */
const CAUTIONS = `
A cup is a test, not a treatment. Follow the product's label and local rules, and ask a licensed adviser before
treating. Wash cups in alcohol outdoors, away from flames, engines and chargers; never in a closed vehicle.
`;
