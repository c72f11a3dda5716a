import type { ReadyCup } from '../../plan/planned.js';
import { Refusal } from '../../units/refusal.js';

/** What commands take from a plan, so that nothing is typed twice. What is said on the command line stands. */

/** Options of `visit open`. Actives and lots that differ within the visit are left to each cup. */
export function visitPlanned(cups: readonly ReadyCup[], visit: string, path: string) {
  const own = cups.filter((cup) => cup.visit === visit);
  const [first] = own;
  if (first === undefined)
    throw new Refusal(
      `${path} has no visit ${visit}; it has ${[...new Set(cups.map((cup) => cup.visit))].join(', ')}.`,
    );
  const strips = own.filter(({ kind }) => kind === 'strip');
  const only = (column: 'active' | 'lot'): string | undefined => {
    const all = new Set(strips.map((cup) => cup[column]));
    return all.size === 1 ? ([...all][0] ?? undefined) : undefined;
  };
  const [active, lot] = [only('active'), only('lot')];
  return {
    ...{ yard: first.yard, zone: first.zone, cups: String(own.length) },
    ...(active === undefined ? {} : { active }),
    ...(lot === undefined ? {} : { lot }),
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
