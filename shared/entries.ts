import type { CupCount } from './types.js';

/** A cup whose tray and wash were both read. */
export type ReadCup = CupCount & { readonly tray: number; readonly wash: number };

export const isRead = (cup: CupCount): cup is ReadCup => cup.tray !== null && cup.wash !== null;

export const mitesOf = (cup: ReadCup): number => cup.tray + cup.wash;

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
  const yardsWithArms = new Set(cups.filter(makesEntry).map(({ yard }) => yard));
  const heads = new Map<string, { yard: string; arm: string | null }>();
  for (const cup of cups) {
    const { yard, arm } = cup;
    const key = JSON.stringify([yard, arm]);
    if ((makesEntry(cup) || !yardsWithArms.has(yard)) && !heads.has(key)) heads.set(key, { yard, arm });
  }
  return [...heads.values()].map(({ yard, arm }) => {
    const inYard = cups.filter((cup) => cup.yard === yard);
    return {
      yard,
      arm,
      strip: inYard.filter((cup) => cup.kind === 'strip' && cup.arm === arm),
      noStrip: inYard.filter((cup) => cup.kind === 'no-strip' && (cup.arm === null || cup.arm === arm)),
    };
  });
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
