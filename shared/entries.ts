import type { CupCount } from './types.js';

/** A cup whose tray and wash were both read. */
export type ReadCup = CupCount & { readonly tray: number; readonly wash: number };

export const isRead = (cup: CupCount): cup is ReadCup => cup.tray !== null && cup.wash !== null;

export const mitesOf = (cup: ReadCup): number => cup.tray + cup.wash;

/** The items by a key, in order of first appearance. */
export function grouped<Item, Key>(items: readonly Item[], keyOf: (item: Item) => Key): Map<Key, Item[]> {
  const groups = new Map<Key, Item[]>();
  for (const item of items) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [item]);
    else group.push(item);
  }
  return groups;
}

/** The cups of a yard and an arm, in input order. */
export interface Entry {
  readonly yard: string;
  readonly arm: string | null;
  readonly strip: readonly CupCount[];
  /** Cups without strip of this arm, and those without an arm, which serve every arm of their yard. */
  readonly noStrip: readonly CupCount[];
}

/**
 * The entries in order of first appearance. Arms come from strip cups, and from cups without strip that name
 * one; a yard of nothing but cups without strip and arm has one entry without arm.
 */
export function entriesOf(cups: readonly CupCount[]): Entry[] {
  const byYard = new Map<string, Map<string | null, Entry>>();
  for (const [yard, inYard] of grouped(cups, (cup) => cup.yard)) byYard.set(yard, entriesOfYard(inYard));
  const inOrder = cups.flatMap((cup) => {
    const entry = byYard.get(cup.yard)?.get(cup.arm);
    return entry !== undefined && (makesEntry(cup) || entry.strip.length === 0) ? [entry] : [];
  });
  return [...new Set(inOrder)];
}

/** The entries of one yard by arm. */
function entriesOfYard(cups: readonly CupCount[]): Map<string | null, Entry> {
  const heads = cups.some(makesEntry) ? cups.filter(makesEntry) : cups;
  const arms = [...new Set(heads.map(({ arm }) => arm))];
  return new Map(
    arms.map((arm) => [
      arm,
      {
        yard: cups[0]!.yard,
        arm,
        strip: cups.filter((cup) => cup.kind === 'strip' && cup.arm === arm),
        noStrip: cups.filter((cup) => cup.kind === 'no-strip' && (cup.arm === null || cup.arm === arm)),
      },
    ]),
  );
}

const makesEntry = (cup: CupCount): boolean => cup.kind === 'strip' || cup.arm !== null;

/** The cluster of a cup: its colony, or the cup itself when it names none. */
export const colonyOf = (cup: CupCount): string =>
  cup.colony === null ? `cup ${cup.cup}` : `colony ${cup.colony}`;

/**
 * The cluster of a cup when mother lines are clusters: its mother line, that of its colony when another cup
 * of the colony names it, or its colony. Null when no cup names a mother line.
 */
export function motherLines(cups: readonly CupCount[]): ((cup: CupCount) => string) | null {
  const ofColony = new Map<string, string>();
  for (const { colony, group } of cups)
    if (colony !== null && group !== null && !ofColony.has(colony)) ofColony.set(colony, group);
  if (cups.every(({ group }) => group === null)) return null;
  return (cup) => {
    const line = cup.group ?? (cup.colony === null ? undefined : ofColony.get(cup.colony));
    return line === undefined ? colonyOf(cup) : `line ${line}`;
  };
}
