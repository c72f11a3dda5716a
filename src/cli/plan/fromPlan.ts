import { visitOfPlan } from '../../plan/fromPlan.js';
import type { ReadyCup } from '../../plan/planned.js';
import { Refusal } from '../../units/refusal.js';

/** What commands take from a plan, so that nothing is typed twice. What is said on the command line stands. */

/** Options of `visit open`. Actives and lots that differ within the visit are left to each cup. */
export function visitPlanned(cups: readonly ReadyCup[], visit: string, path: string) {
  const found = visitOfPlan(cups, visit);
  if (found === null)
    throw new Refusal(
      `${path} has no visit ${visit}; it has ${[...new Set(cups.map((cup) => cup.visit))].join(', ')}.`,
    );
  const { yard, zone, active, lot, rules } = found;
  return {
    ...{ yard, zone, cups: String(found.cups), plannedRules: rules },
    ...(active === null ? {} : { active }),
    ...(lot === null ? {} : { lot }),
  };
}

interface CupOptions {
  readonly plan?: string;
  readonly visit?: string;
  readonly strip: boolean;
  readonly active?: string;
  readonly lot?: string;
  readonly colony?: string;
  readonly group?: string;
  readonly slot?: string;
}

/** Options of `cup load`, from the row of its label. */
export function cupPlanned<Options extends CupOptions>(
  cups: readonly ReadyCup[],
  label: string,
  given: Options,
): Options {
  const row = cups.find(({ cup }) => cup === label);
  if (row === undefined)
    throw new Refusal(
      `${given.plan} has no cup ${label}; load a spare with its colony and slot, without --plan.`,
    );
  const { active, lot, colony, group } = row;
  const told = Object.entries({ active, lot, colony, group }).filter(([, text]) => text !== null);
  return {
    ...{ visit: row.visit as string, slot: `${row.carrier}:${row.slot}` },
    ...(Object.fromEntries(told) as Partial<CupOptions>),
    ...given,
    strip: given.strip && row.kind === 'strip',
  };
}
