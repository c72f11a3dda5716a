import type { YardEntry } from '../../../shared/index.js';
import type { RuleSet } from '../../exposure/ruleSet.js';
import type { LeftOut } from './findings.js';

/** What a yard or arm lacked for a verdict: cups that were lost, by why, or cups, hives or mites from the start. */
export type Lack = Exclude<LeftOut['why'], 'empty'> | 'cups' | 'hives' | 'mites';

/**
 * Why there is too little to judge by. Mites are too few only when enough cups were read to see it: where cups were lost,
 * nobody knows what they would have held, and waiting for more mites would cure nothing.
 *
 * @param leftOut of the strip cups of this entry
 */
export function lacksOf(
  { verdict, efficacy, interval, cups, tray, wash }: YardEntry,
  leftOut: readonly LeftOut[],
  { minCups, minMites }: Pick<RuleSet, 'minCups' | 'minMites'>,
): Lack[] {
  if (verdict !== 'too-few') return [];
  const read = cups.valid - cups.unread;
  const lacks: Lack[] = [];
  if (read < minCups) {
    if (cups.valid + cups.excluded < minCups) lacks.push('cups');
    lacks.push(...leftOut.flatMap(({ why }) => (why === 'empty' ? [] : [why])));
  } else if (read - cups.empty < minCups || tray + wash < minMites) lacks.push('mites');
  // A range needs cups of two hives at least.
  if (efficacy !== null && interval === null && read > 1) lacks.push('hives');
  return lacks;
}
