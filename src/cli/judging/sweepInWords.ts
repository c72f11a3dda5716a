import type { RuleSet } from '../../exposure/ruleSet.js';
import type { SweepPoint } from '../../exposure/sweep.js';
import { RULINGS } from '../../exposure/types.js';
import { textTable } from '../textTable.js';

/** More changed cups than this are counted, not named. */
const NAMED_MAX = 6;

/** A sweep for people: one line a threshold and uncertainty, with the cups that would be ruled otherwise. */
export function sweepInWords(sweep: readonly SweepPoint[], rules: RuleSet): string {
  const used = RULINGS.filter((ruling) => sweep.some(({ counts }) => counts[ruling] !== undefined));
  const rows = sweep.map(({ thresholdCelsius, uncertainty, counts, changed }) => [
    String(thresholdCelsius),
    uncertainty === 'zero' ? '0' : 'stated',
    ...used.map((ruling) => String(counts[ruling] ?? 0)),
    changesIn(changed),
  ]);
  return [
    `what hangs on the threshold (now ${rules.thresholdCelsius.toFixed(2)} °C) and on U; cups by ruling:`,
    '',
    ...textTable([['threshold', 'U', ...used, 'ruled otherwise'], ...rows]),
  ].join('\n');
}

function changesIn(changed: SweepPoint['changed']): string {
  if (changed.length === 0) return 'none';
  const named = changed.slice(0, NAMED_MAX).map(({ cup, from, to }) => `${cup} ${from} -> ${to}`);
  const more = changed.length - named.length;
  return [...named, ...(more === 0 ? [] : [`and ${more} more`])].join(', ');
}
