import { type FiguresIn, followedFigures } from '../exposure/followedFigures.js';
import type { Observation } from '../exposure/types.js';
import type { Fact, FactType, RecordedFact } from '../store/facts.js';
import type { LastRead } from '../store/lastRead.js';
import type { Store, StoredReading } from '../store/store.js';
import type { BoardId, RomId } from '../units/ids.js';
import { durationMs, later, MS_PER_MINUTE, type UtcMs, utcMs } from '../units/time.js';
import type { Cup } from '../visit/cup.js';
import { observations } from '../visit/exposures.js';
import { EMPTY_SEASON, foldSeason, type Season } from '../visit/season.js';
import {
  type CupView,
  type FiguresOf,
  probeIn,
  type SlotView,
  slotViews,
  unseatedCups,
} from '../visit/slots.js';
import type { ClockSign } from './status.js';
import { TREND_MINUTES } from './trend.js';

/** What a store holds that a screen needs, kept up to date piece by piece. */
export interface Feed {
  /** Takes in what was added to the store since the last call. Throws what the store throws. */
  poll(): void;
  /** Whether the store has facts that the last `poll()` did not see. Throws what the store throws. */
  isBehind(): boolean;
  readonly season: Season;
  /** A probe's trustworthy readings that an open cup may still need, in order of time. */
  observationsOf(rom: string): readonly Observation[];
  slots(now: UtcMs): SlotView[];
  unseated(now: UtcMs): CupView[];
  /**
   * When something was last read of each carrier, whatever it was worth; null when nothing was. A board none of whose
   * probes has a slot goes by its own name.
   */
  heard(now: UtcMs): { readonly name: string; readonly at: UtcMs | null }[];
  clocks(): ClockSign[];
  /** When the last fact was recorded; null when there is none. */
  readonly recorded: UtcMs | null;
}

/** Readings taken in one query. */
const BATCH = 5000;
/** What trends show is held in any case, with the stretch that has only begun. */
const KEPT_ALWAYS = durationMs((TREND_MINUTES + 2) * MS_PER_MINUTE);
/** What changes in the store without a new reading, such as times put right after a boot, is seen after this much time of readings. */
const TAKEN_ANEW_EVERY = durationMs(MS_PER_MINUTE);
/** A cup that nobody ever turned does not fill the memory. */
const KEPT_MAX = durationMs(24 * 60 * MS_PER_MINUTE);
/** Old readings are dropped this many at a time, so that a list is not copied for each. */
const DROP_MIN = 256;

const NOTHING: readonly Observation[] = [];
const NEVER = utcMs(Number.NEGATIVE_INFINITY);
const ALWAYS = utcMs(Number.MAX_SAFE_INTEGER);

/**
 * Follows a store. Nothing is read before the first `poll()`, and then no more than open cups need: of the rest of the
 * season only when each probe was last read.
 */
export function storeFeed(store: Store): Feed {
  let season = EMPTY_SEASON;
  let lastFact = 0;
  let recorded: UtcMs | null = null;
  /** How the store's file looked when there were no facts to take in: as long as it looks so the store need not be asked. */
  let newsless: string | null = null;
  let begun = false;
  let lastReading = 0;
  let newest = NEVER;
  /** The newest reading when all that is held was last taken from the store. */
  let takenAnew = NEVER;
  /** Every reading from here on is held. */
  let heldFrom = NEVER;
  const heard = new Map<RomId, { readonly board: BoardId; readonly at: UtcMs }>();
  const clockStates = new Map<BoardId, Omit<ClockSign, 'name'>>();
  const byProbe = new Map<string, Observation[]>();
  const observationsOf = (rom: string): readonly Observation[] => byProbe.get(rom) ?? NOTHING;
  /** Cups are asked for every second: each follows its own readings until a fact makes another cup of it. */
  const followed = new WeakMap<Cup, FiguresIn>();
  const figuresOf: FiguresOf = (cup) => {
    const known = followed.get(cup) ?? followedFigures();
    followed.set(cup, known);
    return known;
  };

  const hearOf = ({ rom, board, utc }: LastRead) => {
    if (utc > (heard.get(rom)?.at ?? NEVER)) heard.set(rom, { board, at: utc });
  };
  /** Holds a reading; nothing changes when it is held already. */
  const hold = (reading: StoredReading) => {
    if (reading.status !== 'unplaced') hearOf(reading);
    const [observation] = observations([reading], season.commissioned);
    if (!observation) return;
    if (observation.at > newest) newest = observation.at;
    if (observation.at < heldFrom) return;
    const list = byProbe.get(reading.rom) ?? byProbe.set(reading.rom, []).get(reading.rom)!;
    insert(list, observation);
  };
  /** Makes what is held begin where the oldest open cup needs it: from the store again, or by dropping. */
  const holdFrom = (from: UtcMs) => {
    const missing = from < heldFrom;
    heldFrom = from;
    if (missing)
      for (const rom of new Set([...heard.keys(), ...probesOf(season)]))
        for (const r of store.readings(rom, from, ALWAYS)) hold(r);
    for (const list of byProbe.values()) drop(list, from);
  };
  /** Forgets what is held and takes it from the store as it is now. */
  const takeAnew = () => {
    if (newest === NEVER) return;
    byProbe.clear();
    heldFrom = ALWAYS;
    holdFrom(neededFrom(season, newest));
    takenAnew = newest;
  };

  /** Begins at the end of what is there, and takes of it what is needed. */
  const begin = () => {
    // Whatever arrives from here on is asked for as well; what is met twice is held once.
    lastReading = store.newestReading()?.id ?? 0;
    const last = store.lastReadings();
    for (const each of last) hearOf(each);
    newest = last.reduce((latest, { utc }) => utcMs(Math.max(latest, utc)), NEVER);
    heldFrom = neededFrom(season, newest);
    newest = NEVER;
    for (const { rom } of last) for (const r of store.readings(rom, heldFrom, ALWAYS)) hold(r);
    takenAnew = newest;
    if (newest !== NEVER) holdFrom(neededFrom(season, newest));
    begun = true;
  };

  return {
    poll() {
      const facts = store.facts(lastFact);
      if (facts.length > 0) season = foldSeason(facts, season);
      lastFact = facts.at(-1)?.seq ?? lastFact;
      recorded = facts.at(-1)?.recorded ?? recorded;
      for (const { fact } of facts) takeClock(clockStates, fact);
      if (!begun) begin();
      else if (facts.some(changesWhatIsHeld)) takeAnew();
      else if (facts.some(changesWhatIsNeeded)) holdFrom(neededFrom(season, newest));
      for (;;) {
        const readings = store.readingsAfter(lastReading, BATCH);
        for (const reading of readings) hold(reading);
        lastReading = readings.at(-1)?.id ?? lastReading;
        if (readings.length > 0) holdFrom(neededFrom(season, newest));
        if (readings.length < BATCH) break;
      }
      if (newest - takenAnew >= TAKEN_ANEW_EVERY) takeAnew();
    },
    isBehind() {
      const now = store.touched();
      if (now !== null && now === newsless) return false;
      const isBehind = store.head().count > lastFact;
      if (!isBehind) newsless = now;
      return isBehind;
    },
    get season() {
      return season;
    },
    get recorded() {
      return recorded;
    },
    observationsOf,
    slots: (now) => slotViews(season, observationsOf, now, figuresOf),
    unseated: (now) => unseatedCups(season, observationsOf, now, figuresOf),
    heard(now) {
      const found = new Map<string, UtcMs | null>();
      const unseen = new Map(heard);
      for (const [carrier, { slots }] of season.carriers) {
        found.set(carrier, null);
        for (const slot of slots.keys()) {
          const rom = probeIn(season.carriers.get(carrier), slot, now);
          const last = rom === null ? undefined : heard.get(rom);
          if (rom === null || last === undefined) continue;
          unseen.delete(rom);
          found.set(carrier, utcMs(Math.max(last.at, found.get(carrier) ?? NEVER)));
        }
      }
      const known = new Set([...season.carriers.values()].map(({ board }) => board));
      for (const { board, at } of unseen.values())
        if (!known.has(board))
          found.set(`board ${board}`, utcMs(Math.max(at, found.get(`board ${board}`) ?? NEVER)));
      return [...found].map(([name, at]) => ({ name, at })).sort((a, b) => (a.name < b.name ? -1 : 1));
    },
    clocks: () =>
      [...season.carriers.values()].flatMap(({ carrier, board }) => {
        const clock = board === null ? undefined : clockStates.get(board);
        return clock === undefined ? [] : [{ name: carrier, ...clock }];
      }),
  };
}

/** What a fact tells of a board's clock. */
function takeClock(clocks: Map<BoardId, Omit<ClockSign, 'name'>>, fact: Fact): void {
  if (fact.type === 'board-booted')
    clocks.set(fact.board, { state: fact.clock, differenceMs: clocks.get(fact.board)?.differenceMs ?? null });
  if (fact.type === 'clock-compared' && fact.differenceMs !== null)
    clocks.set(fact.board, { state: 'running', differenceMs: fact.differenceMs });
}

const CHANGES_WHAT_IS_NEEDED: ReadonlySet<FactType> = new Set<FactType>([
  'cup-loaded',
  'cup-turned',
  'entry-corrected',
  'entry-withdrawn',
]);
const changesWhatIsNeeded = ({ fact }: RecordedFact): boolean => CHANGES_WHAT_IS_NEEDED.has(fact.type);
/** What is held was corrected by what was known then, and is of the probes that were known. */
const CHANGES_WHAT_IS_HELD: ReadonlySet<FactType> = new Set<FactType>([
  'ice-checked',
  'measurement-withdrawn',
  'probe-assigned',
]);
const changesWhatIsHeld = ({ fact }: RecordedFact): boolean => CHANGES_WHAT_IS_HELD.has(fact.type);

/** The load of the oldest cup that is not turned yet, or where the trends begin, whichever is earlier. */
function neededFrom(season: Season, newest: UtcMs): UtcMs {
  if (newest === NEVER) return NEVER;
  let from = later(newest, durationMs(-KEPT_ALWAYS));
  for (const cup of season.cups.values()) if (cup.turn === null && cup.load < from) from = cup.load;
  return utcMs(Math.max(from, newest - KEPT_MAX));
}

const probesOf = (season: Season) =>
  new Set(
    [...season.carriers.values()].flatMap(({ slots }) =>
      [...slots.values()].flatMap((probes) => probes.flatMap(({ rom }) => rom ?? [])),
    ),
  );

/**
 * Puts an observation in its place in time. A second one at the same instant is left out: a duplicate, or two
 * values of which the ruling will say that they contradict each other.
 */
function insert(list: Observation[], observation: Observation): void {
  let index = list.length;
  while (index > 0 && list[index - 1]!.at > observation.at) index -= 1;
  if (index > 0 && list[index - 1]!.at === observation.at) return;
  if (index === list.length) list.push(observation);
  else list.splice(index, 0, observation);
}

function drop(list: Observation[], before: UtcMs): void {
  if (list.length < DROP_MIN || list[DROP_MIN - 1]!.at >= before) return;
  const first = list.findIndex(({ at }) => at >= before);
  list.splice(0, first === -1 ? list.length : first);
}
