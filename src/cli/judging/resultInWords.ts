import { lagInWords } from '../../visit/prewarming.js';
import type { VisitResult } from '../../visit/result.js';
import { efficacyInWords } from './efficacy.js';
import { rulingsInWords } from './judge.js';

/** A visit's result for people: the answer, then how each cup was judged, then the cautions; a line may be long. */
export function resultInWords(result: VisitResult): string {
  const { efficacy, rulings, rules, withoutOverrules, asFirstEntered, unchanged, probes } = result;
  const judged =
    rulings.length === 0
      ? 'No cup has been turned yet, so none is judged.'
      : `How each cup was judged, from temperatures and times alone\n\n${rulingsInWords(rulings, rules)}`;
  const others = (
    [
      ['Without what people changed after counting or overruled', withoutOverrules],
      ['With counts as first entered, before they were corrected or withdrawn', asFirstEntered],
      ['Without either', unchanged],
    ] as const
  ).flatMap(([head, report]) =>
    report === null ? [] : [`${head}\n\n${efficacyInWords(report, rules.line).trimEnd()}`],
  );
  const followed =
    probes.length === 0
      ? []
      : [
          `How slowly the probes followed; no reading is corrected for it, carriers are pre-warmed\n\n${probes.map(lagInWords).join('\n')}`,
        ];
  return [efficacyInWords(efficacy, rules.line).trimEnd(), ...others, judged, ...followed, CAUTIONS].join(
    '\n\n',
  );
}

/** Stands under every result for people. */
const CAUTIONS =
  "A cup is a test, not a treatment. Follow the product's label and local rules, and ask a licensed adviser before treating. Wash cups in alcohol outdoors, away from flames, engines and chargers; never in a closed vehicle.";
