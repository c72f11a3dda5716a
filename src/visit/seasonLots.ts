import type { YardEntry } from '../../shared/index.js';
import type { SeasonCup } from './seasonResult.js';

/** One lot of strips over all yards. */
export interface Lot {
  readonly active: string | null;
  readonly lot: string;
  /** Yards where it has an estimate, and those where that lies below the line. */
  readonly yards: number;
  readonly yardsBelow: number;
  /** Those of them whose verdict is below the line: their whole range is. */
  readonly yardsDecidedBelow: number;
  /** Strip cups: loaded, and lost to any ruling or replaced. */
  readonly loaded: number;
  readonly lost: number;
  /** What to think of it, and whether that is decided; null when nothing speaks against it. */
  readonly suspicion: string | null;
}

/** A lot is called low everywhere from so many yards on (j). */
const YARDS_MIN = 2;

/**
 * The lots of a season. A lot that is low in every yard is suspect before the mites are, the more so when other lots are not. Estimates alone
 * mislead, so it is called decided only by the yards' verdicts:
 * mites of several yards are not likely to have changed all at once, a box of strips that was kept too hot or too long has.
 */
export function lotsOf(entries: readonly YardEntry[], cups: readonly SeasonCup[], line: number): Lot[] {
  const lots = new Map<string, { active: string | null; lot: string; cups: SeasonCup[] }>();
  for (const each of cups) {
    const { active, lot, kind } = each.cup;
    if (kind !== 'strip' || lot === null) continue;
    const key = JSON.stringify([active, lot]);
    const known = lots.get(key) ?? { active, lot, cups: [] };
    known.cups.push(each);
    lots.set(key, known);
  }
  const told = [...lots.values()].map(({ active, lot, cups: ofLot }) => {
    const arms = new Set(ofLot.map(({ count }) => `${count.yard} ${count.arm}`));
    const estimates = entries.filter(
      ({ yard, arm, efficacy }) => efficacy !== null && arms.has(`${yard} ${arm}`),
    );
    const below = estimates.filter(({ efficacy }) => efficacy! < line);
    const lost = ofLot.filter(({ count }) => count.replaced === true || count.ruling !== 'valid');
    return {
      active,
      lot,
      yards: estimates.length,
      yardsBelow: below.length,
      yardsDecidedBelow: below.filter(({ verdict }) => verdict === 'below-line').length,
      loaded: ofLot.length,
      lost: lost.length,
    };
  });
  return told.map((each) => ({ ...each, suspicion: suspicionOf(each, told) }));
}

function suspicionOf(
  { active, lot, yards, yardsBelow, yardsDecidedBelow }: Omit<Lot, 'suspicion'>,
  all: readonly Omit<Lot, 'suspicion'>[],
): string | null {
  if (yards < YARDS_MIN || yardsBelow < yards) return null;
  const isDecided = yardsDecidedBelow === yards;
  const low = isDecided
    ? `lot ${lot} is below the line in all ${yards} yards, by their verdicts`
    : `undecided: lot ${lot} has an estimate below the line in all ${yards} yards, but a verdict below it in ${yardsDecidedBelow} only; a lot right at the line shows that by chance about 1 time in ${2 ** yards}`;
  const others = all.filter((each) => each.active === active && each.lot !== lot && each.yards > 0);
  if (others.length === 0)
    return `${low}; no other lot was tested: the lot (age, storage) and the mites cannot be told apart; test another lot in the same yards`;
  const [below, of] = [others.map((other) => other.yardsBelow), others.map((other) => other.yards)].map(
    (counts) => counts.reduce((sum, count) => sum + count, 0),
  );
  if (below === of) return `${low}; so are all ${of} estimates of other lots, which clears this one`;
  return `${low}; of the estimates of other lots ${below} of ${of} are: ${isDecided ? 'suspect the lot (age, storage) before the mites' : 'the lot (age, storage) may be the cause before the mites are'}; test it beside another one in one yard`;
}
