import { cupOfPlan, type Held, visitOfPlan } from '../../plan/fromPlan.js';
import type { ReadyCup } from '../../plan/planned.js';
import type { VisitId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import type { UtcMs } from '../../units/time.js';

/** What commands take from a plan, so that nothing is typed twice. What is said on the command line stands. */

interface VisitOptions {
  readonly yard?: string;
  readonly zone?: string;
  readonly active?: string;
  readonly lot?: string;
  readonly cups?: string;
}

/** Options of `visit open`, and what is to be said of them. Actives and lots that differ within the visit are left to each cup. */
export function visitPlanned<Options extends VisitOptions>(
  cups: readonly ReadyCup[],
  visit: string,
  given: Options & { readonly plan: string },
  held: Pick<Held, 'carriers'>,
  now: UtcMs,
): { readonly options: Options; readonly remarks: readonly string[] } {
  const found = visitOfPlan(cups, visit, held, now);
  if (found === null)
    throw new Refusal(
      `${given.plan} has no visit ${visit}; it has ${[...new Set(cups.map((cup) => cup.visit))].join(', ')}.`,
    );
  const { yard, zone, active, lot, otherDay, otherVehicle } = found;
  const remarks = [otherDay, given.cups === undefined ? otherVehicle : null];
  return {
    options: {
      ...{ yard, zone, cups: String(found.cups) },
      ...(active === null ? {} : { active }),
      ...(lot === null ? {} : { lot }),
      ...given,
    },
    remarks: remarks.filter((remark) => remark !== null),
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
  const row = cupOfPlan(cups, label);
  if (row === null)
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

/** A cup whose visit comes from its plan; perhaps the label of another yard was taken. */
export function refuseUnopened(
  { visits }: Pick<Held, 'visits'>,
  label: string,
  visit: VisitId,
  plan: string,
): void {
  if (!visits.has(visit))
    throw new Refusal(
      `Cup ${label} is planned for visit ${visit}, which is not open here; take a label of this yard, or begin with visit open ${visit} --plan ${plan}.`,
    );
}
