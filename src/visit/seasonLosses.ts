import { RULINGS, type Ruling } from '../exposure/types.js';
import type { Records } from '../store/store.js';
import { type Missing, whyMissing } from './keptWords.js';
import type { SeasonCup } from './seasonResult.js';

/** Strip cups of a season that count for nothing, by why, with the temperatures that they had. */
export interface Lost {
  readonly why: Exclude<Ruling, 'valid'> | 'replaced';
  readonly cups: number;
  /** The lowest and the highest reading of any of them, degrees Celsius; null where there was none. */
  readonly minCelsius: number | null;
  readonly maxCelsius: number | null;
  /** The middle one of their means. */
  readonly medianMeanCelsius: number | null;
}

/** What was lost of the cups that one person loaded. */
export interface Operator {
  /** Null for cups of which no name is known, and then why not: none was given, or it is not in the store. */
  readonly name: string | null;
  readonly unnamed: 'none-given' | Missing | null;
  readonly loaded: number;
  /** Replaced, or ruled out. */
  readonly lost: number;
  readonly unread: number;
}

const isStrip = ({ count }: SeasonCup): boolean => count.kind === 'strip';
const whyLost = ({ count }: SeasonCup): Lost['why'] | null =>
  count.replaced === true ? 'replaced' : count.ruling === 'valid' ? null : count.ruling;

export function lostCups(cups: readonly SeasonCup[]): Lost[] {
  const strip = cups.filter(isStrip);
  return (['replaced', ...RULINGS] as const).flatMap((why): Lost[] => {
    if (why === 'valid') return [];
    const lost = strip.filter((cup) => whyLost(cup) === why);
    if (lost.length === 0) return [];
    const figures = (name: 'minCelsius' | 'maxCelsius' | 'meanCelsius') =>
      lost.flatMap(({ ruling }) => ruling?.[name] ?? []).sort((a, b) => a - b);
    const means = figures('meanCelsius');
    return [
      {
        why,
        cups: lost.length,
        minCelsius: figures('minCelsius')[0] ?? null,
        maxCelsius: figures('maxCelsius').at(-1) ?? null,
        medianMeanCelsius: means[Math.floor((means.length - 1) / 2)] ?? null,
      },
    ];
  });
}

/** Strip cups by who loaded them, in order of first appearance. */
export function operatorsOf(
  store: Pick<Records, 'text' | 'refersTo'>,
  cups: readonly SeasonCup[],
): Operator[] {
  const found = new Map<string, Operator>();
  for (const cup of cups.filter(isStrip)) {
    const loading = cup.cup.entries.find(({ fact }) => fact.type === 'cup-loaded')?.fact;
    const who = loading?.type === 'cup-loaded' ? loading.who : undefined;
    // Each reference is salted: only the names behind them can be compared.
    const name = who === undefined ? null : store.text(who);
    const unnamed = name !== null ? null : who === undefined ? 'none-given' : whyMissing(store, who);
    const key = JSON.stringify([name, unnamed]);
    const before = found.get(key) ?? { name, unnamed, loaded: 0, lost: 0, unread: 0 };
    const isLost = whyLost(cup) !== null;
    const isUnread = !isLost && (cup.count.tray === null || cup.count.wash === null);
    found.set(key, {
      ...before,
      loaded: before.loaded + 1,
      lost: before.lost + (isLost ? 1 : 0),
      unread: before.unread + (isUnread ? 1 : 0),
    });
  }
  return [...found.values()];
}
