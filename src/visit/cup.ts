import type { Ruling } from '../exposure/types.js';
import type { BEE_METHODS, DEAD_BEES, ENTRY_FIELDS } from '../store/cupFacts.js';
import type { Fact } from '../store/facts.js';
import type { CarrierId, CupLabel, VisitId } from '../units/ids.js';
import { type DurationMs, durationMs, parseInstant, type UtcMs, utcMs } from '../units/time.js';

/** One assay sample, as its entries tell. Derived from facts and never kept. */
export interface Cup {
  readonly cup: CupLabel;
  readonly visit: VisitId;
  readonly kind: 'strip' | 'no-strip';
  readonly active: string | null;
  readonly lot: string | null;
  readonly colony: string | null;
  readonly group: string | null;
  readonly load: UtcMs;
  /** How far the true time of the load may lie from the stated one, either way. */
  readonly loadWithin: DurationMs;
  readonly turn: UtcMs | null;
  readonly turnWithin: DurationMs;
  readonly places: readonly Place[];
  /** `why` is the reference of a text. */
  readonly spoiled: {
    readonly at: UtcMs;
    readonly why: string;
    readonly afterCounts: boolean;
    readonly replacedBy: CupLabel | null;
  } | null;
  readonly counts: Counts;
  /** Whether any of its mites were ever counted, be it that the count was withdrawn: whoever read it knows it. */
  readonly wasCounted: boolean;
  /** Mites of each wash that was read, in order; `counts.wash` is their sum. */
  readonly washes: readonly number[];
  /** The same as it was when it was first entered, whatever was corrected or withdrawn since. */
  readonly firstRead: FirstRead;
  /** How its bees were numbered, and the coefficient of variation of that; null while not numbered. */
  readonly bees: { readonly how: (typeof BEE_METHODS)[number]; readonly cv: number } | null;
  /** Dead bees seen at the turn; null when nobody said. */
  readonly dead: (typeof DEAD_BEES)[number] | null;
  /** References of people's words on it, in order. */
  readonly notes: readonly { readonly text: string; readonly at: UtcMs }[];
  /** What the rules said whenever it was recorded, in order. */
  readonly ruled: readonly RecordedRuling[];
  readonly overruled: (RecordedRuling & { readonly why: string; readonly who: string | null }) | null;
  /** What was recorded of its exposure and its counts, as it stands after corrections, in the order recorded. */
  readonly entries: readonly Entry[];
  readonly changes: readonly Change[];
}

/** A stretch in one slot; `to` is null while the cup is still there. */
export interface Place {
  readonly carrier: CarrierId;
  readonly slot: number;
  readonly from: UtcMs;
  readonly to: UtcMs | null;
  /** How far the true ends may lie from the stated ones, either way. */
  readonly fromWithin: DurationMs;
  readonly toWithin: DurationMs;
}

/** A ruling as it was recorded, by rule or by a person. */
export interface RecordedRuling {
  readonly ruling: Ruling;
  readonly at: UtcMs;
  /** Whether mites had been counted by then. */
  readonly afterCounts: boolean;
}

/** What has been read; null is "not read", never 0. */
export interface Counts {
  readonly tray: number | null;
  readonly wash: number | null;
  readonly bees: number | null;
}

/** Mites as first entered; null is "never read". */
export interface FirstRead {
  readonly tray: number | null;
  readonly washes: readonly number[];
}

export type CupFact = Extract<Fact, { cup: CupLabel }>;
export const isOfCup = (fact: Fact): fact is CupFact => 'cup' in fact;

/** What happens to a cup and what is read of it; rulings, notes and corrections are not among it. */
export type CupEvent = Exclude<
  CupFact,
  { type: 'cup-ruled' | 'cup-overruled' | 'entry-corrected' | 'entry-withdrawn' | 'cup-noted' }
>;

export interface Entry {
  /** The number of its fact. */
  readonly seq: number;
  /** When it was entered. */
  readonly recorded: UtcMs;
  readonly fact: CupEvent;
}

/** A correction or a withdrawal of an entry. References of texts for `why` and `who`. */
export interface Change {
  readonly entry: Entry;
  /** Null for a withdrawal. */
  readonly field: (typeof ENTRY_FIELDS)[number] | null;
  readonly old: string | number | null;
  readonly new: string | number | null;
  readonly why: string;
  readonly who: string | null;
  readonly at: UtcMs;
  /** Whether mites had been counted by then. */
  readonly afterCounts: boolean;
}

const EXACT = durationMs(0);
const NOT_READ: Counts = { tray: null, wash: null, bees: null };

/** A cup with one more fact, whenever that happened; null for a fact that is not of a cup that is known. */
export function cupWith(
  cup: Cup | undefined,
  { seq, recorded, fact }: { seq: number; recorded: UtcMs; fact: CupFact },
): Cup | null {
  if (fact.type === 'cup-loaded') return cupFrom([{ seq, recorded, fact }], null);
  if (!cup) return null;
  const who = 'who' in fact ? (fact.who ?? null) : null;
  const said = { at: fact.at, afterCounts: cup.wasCounted };
  switch (fact.type) {
    case 'cup-ruled':
      return { ...cup, ruled: [...cup.ruled, { ruling: fact.ruling, ...said }] };
    case 'cup-overruled':
      return { ...cup, overruled: { ruling: fact.ruling, why: fact.why, who, ...said } };
    case 'cup-noted':
      return { ...cup, notes: [...cup.notes, { text: fact.text, at: fact.at }] };
    case 'entry-corrected':
    case 'entry-withdrawn': {
      const entry = cup.entries.find((each) => each.seq === fact.entry);
      if (!entry) return cup;
      const change: Change =
        fact.type === 'entry-withdrawn'
          ? { entry, field: null, old: null, new: null, why: fact.why, who, ...said }
          : { entry, field: fact.field, old: fact.old, new: fact.new, why: fact.why, who, ...said };
      return cupFrom(entriesAfter(cup.entries, fact), { ...cup, changes: [...cup.changes, change] });
    }
    default:
      return cupFrom([...cup.entries, { seq, recorded, fact }], cup);
  }
}

/** Entries after a correction or a withdrawal of one of them. */
export function entriesAfter(
  entries: readonly Entry[],
  change: Extract<CupFact, { type: 'entry-corrected' | 'entry-withdrawn' }>,
): readonly Entry[] {
  if (change.type === 'entry-withdrawn') return entries.filter(({ seq }) => seq !== change.entry);
  const { field } = change;
  const value = field === 'at' ? parseInstant(String(change.new)) : change.new;
  return entries.map((entry): Entry => {
    if (entry.seq !== change.entry) return entry;
    const { [field as keyof CupEvent]: _old, ...rest } = entry.fact;
    const isLeftOut = field === 'withinMs' && value === null;
    return { ...entry, fact: (isLeftOut ? rest : { ...rest, [field]: value }) as CupEvent };
  });
}

/** Entries in the order in which they happened; those of one instant as they were recorded. */
export const inOrder = (entries: readonly Entry[]): Entry[] =>
  entries.toSorted((a, b) => a.fact.at - b.fact.at || a.seq - b.seq);

/**
 * A cup from its entries, which must hold its load.
 *
 * @param before what does not follow from entries: rulings, changes, notes
 */
function cupFrom(entries: readonly Entry[], before: Cup | null): Cup {
  const load = entries.map(({ fact }) => fact).find((fact) => fact.type === 'cup-loaded');
  if (!load) throw new Error('a cup without a load');
  const { cup, visit, kind, active, lot, colony, group } = load;
  const turn = entries.map(({ fact }) => fact).find((fact) => fact.type === 'cup-turned');
  const read = countsFrom(entries);
  return {
    cup,
    visit,
    kind,
    active,
    lot,
    colony,
    group,
    load: load.at,
    loadWithin: withinOf(load),
    turn: turn?.at ?? null,
    turnWithin: turn ? withinOf(turn) : EXACT,
    places: placesFrom(entries),
    spoiled: spoiledBy(entries, before),
    ...read,
    firstRead: firstReadWith(before?.firstRead, read),
    wasCounted: before?.wasCounted === true || read.counts.tray !== null || read.counts.wash !== null,
    notes: before?.notes ?? [],
    ruled: before?.ruled ?? [],
    overruled: before?.overruled ?? null,
    entries,
    changes: before?.changes ?? [],
  };
}

/** What was first read, with what is read now where nothing was before: facts come one at a time. */
function firstReadWith(
  before: FirstRead | undefined,
  { counts, washes }: ReturnType<typeof countsFrom>,
): FirstRead {
  const known = before?.washes ?? [];
  return { tray: before?.tray ?? counts.tray, washes: [...known, ...washes.slice(known.length)] };
}

const withinOf = ({ withinMs }: { withinMs?: number | undefined }): DurationMs => durationMs(withinMs ?? 0);

/** The stretches in slots that entries tell of. */
export function placesFrom(entries: readonly Entry[]): Place[] {
  const places: Place[] = [];
  const leave = (at: UtcMs, toWithin: DurationMs) => {
    const last = places.at(-1);
    if (last && last.to === null) places[places.length - 1] = { ...last, to: at, toWithin };
  };
  for (const { fact } of inOrder(entries))
    switch (fact.type) {
      case 'cup-seated':
      case 'cup-moved': {
        const { carrier, slot, at: from } = fact;
        leave(from, withinOf(fact));
        places.push({ carrier, slot, from, to: null, fromWithin: withinOf(fact), toWithin: EXACT });
        break;
      }
      case 'cup-lifted':
      case 'cup-turned':
        leave(fact.at, withinOf(fact));
        break;
      default:
    }
  return places;
}

function spoiledBy(entries: readonly Entry[], before: Cup | null): Cup['spoiled'] {
  const fact = entries.map((entry) => entry.fact).find((each) => each.type === 'cup-spoiled');
  if (!fact) return null;
  const known = before?.spoiled;
  const isKnown = known?.at === fact.at && known.why === fact.why;
  const afterCounts = isKnown ? known.afterCounts : before?.wasCounted === true;
  return { at: fact.at, why: fact.why, afterCounts, replacedBy: fact.replacedBy ?? null };
}

/** What was read, in the order in which it was entered. */
export function countsFrom(entries: readonly Entry[]): Pick<Cup, 'counts' | 'washes' | 'bees' | 'dead'> {
  let [tray, numberOfBees]: (number | null)[] = [null, null];
  let washes: number[] = [];
  let bees: Cup['bees'] = null;
  let dead: Cup['dead'] = null;
  for (const { fact } of entries)
    if (fact.type === 'cup-counted') {
      tray = fact.tray ?? tray ?? null;
      if (fact.wash !== null) washes = [fact.wash, ...washes.slice(1)];
      if (fact.washAgain !== undefined) washes = [...washes, fact.washAgain];
      if (fact.bees !== null) {
        numberOfBees = fact.bees;
        bees = { how: fact.beesHow ?? 'counted', cv: fact.beesCv ?? 0 };
      }
      dead = fact.dead ?? dead;
    } else if (fact.type === 'count-corrected') {
      if (fact.field === 'tray') tray = fact.new;
      else if (fact.field === 'bees') numberOfBees = fact.new;
      else washes = washes.with((fact.washNumber ?? 1) - 1, fact.new);
    }
  const wash = washes.length === 0 ? null : washes.reduce((sum, mites) => sum + mites, 0);
  return {
    counts: { ...NOT_READ, tray: tray ?? null, wash, bees: numberOfBees ?? null },
    washes,
    bees,
    dead,
  };
}

/**
 * When the exposure of a cup ended: when it was turned, or, when it never was, when it was marked as spoiled; null while
 * it lasts. Nobody turns a cup that must not count, so that its record would grow for ever.
 */
export const exposureEnd = ({ turn, spoiled, load }: Pick<Cup, 'turn' | 'spoiled' | 'load'>): UtcMs | null =>
  turn ?? (spoiled === null ? null : utcMs(Math.max(load, spoiled.at)));

/** Whether its exposure lasts. */
export const isExposed = (cup: Pick<Cup, 'turn' | 'spoiled' | 'load'>): boolean => exposureEnd(cup) === null;

/** A slot as people write it, as A:3. */
export const slotText = ({ carrier, slot }: { readonly carrier: string; readonly slot: number }): string =>
  `${carrier}:${slot}`;

/** The place a cup is in now, null when it is in none. */
export const placeNow = (cup: Pick<Cup, 'places'>): Place | null =>
  cup.places.find(({ to }) => to === null) ?? null;

/** What was counted of a cup by people who may know it, whether it stands or was withdrawn. */
export const everCounted = ({ entries, changes }: Pick<Cup, 'entries' | 'changes'>): Entry[] =>
  [...entries, ...changes.flatMap(({ entry, field }) => (field === null ? [entry] : []))].filter(
    ({ fact }) =>
      fact.type === 'cup-counted' &&
      (fact.tray !== null || fact.wash !== null || fact.washAgain !== undefined),
  );
