import type { Fact, RecordedFact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId, CarrierId, RomId } from '../units/ids.js';
import { later, minutes, type UtcMs } from '../units/time.js';
import { observations } from './exposures.js';
import { type MarkOffer, offersFor } from './marks.js';
import { foldSeason, type Season } from './season.js';
import { probeIn } from './slots.js';

type Told<Type extends Fact['type']> = Extract<Fact, { type: Type }>;

/** The last word on a boot whose log was read. */
export type BootRead = Told<'boot-read'> & {
  /** How many of its scans are kept and not used, because nothing proves when they were taken. */
  readonly unproven: number;
  /** When each of the others was taken, in order: of a boot that nothing proves as a whole a part may be proven. */
  readonly proven: readonly UtcMs[];
};

/** What was read of one board since a fact: its boots, the holes between its scans, its marks. */
export interface BoardDay {
  readonly board: BoardId;
  readonly boots: readonly BootRead[];
  /** Times in which the board took no scan that a ruling may use. */
  readonly gaps: readonly { readonly from: UtcMs; readonly to: UtcMs }[];
  readonly marks: readonly MarkOffer[];
  /**
   * The board's clock against a host's: the first comparison, which is the one that tells of the time alone. Without a
   * difference when the clock had lost its time before a host set it.
   */
  readonly clock: { readonly differenceMs: number | null } | null;
  /** Times of that clock that its counter contradicts: it was set in between. */
  readonly disproved: readonly Told<'clock-disproved'>[];
  /** Probes that have a slot and gave less than they should. */
  readonly lacking: readonly Lacking[];
  readonly warnings: readonly Told<'board-warned'>[];
  readonly lost: readonly Told<'pages-lost'>[];
}

/** A probe in a slot, and how many of the board's scans have a reading of it that a ruling can use. */
export interface Lacking {
  readonly carrier: CarrierId;
  readonly slot: number;
  readonly rom: RomId;
  /** Null when the board never found the probe. */
  readonly usable: number | null;
  readonly scans: number;
}

/** A damaged line in a hundred is how buses are (j). */
const LACKING_MIN = 0.01;
/** Readings further apart than this are no neighbours by the default rule set. */
const GAP_MS = 60_000;
const AROUND = minutes(10);

/** What the facts after the one numbered `after` tell of a board. */
export function boardDay(store: Store, board: BoardId, after: number): BoardDay {
  const facts = store.facts();
  const season = foldSeason(facts);
  const fresh = facts.filter(({ seq }) => seq > after).map(({ fact }) => fact);
  const told = <Type extends Fact['type']>(type: Type) =>
    fresh.filter((fact): fact is Told<Type> => fact.type === type && 'board' in fact && fact.board === board);
  /** Whether a host had looked at the clock, and set it, in or after a boot. */
  const wasSetIn = (boot: number) =>
    facts.some(
      ({ seq, fact }) =>
        seq <= after && fact.type === 'clock-compared' && fact.board === board && fact.boot >= boot,
    );
  // The last word on each boot.
  const boots = [...new Map(told('boot-read').map((fact) => [fact.boot, fact])).values()].map(
    (fact): BootRead => {
      const proven = store.scanTimes(board, fact.boot).sort((a, b) => a - b);
      return { ...fact, proven, unproven: store.scansOf(board, fact.boot).size - proven.length };
    },
  );
  const marks = [
    ...new Map(told('mark-stamped').map((fact) => [`${fact.boot} ${fact.boardMs}`, fact])).values(),
  ];
  return {
    board,
    boots,
    gaps: gapsIn(boots.flatMap(({ proven }) => proven)),
    marks: offersFor(
      marks,
      season,
      facts,
      (pressed) => (rom) =>
        observations(
          store.readings(rom as never, later(pressed, minutes(-10)), later(pressed, AROUND)),
          season.commissioned,
        ),
    ),
    clock: clockThen(boots.at(-1), told('clock-compared')[0], wasSetIn),
    disproved: told('clock-disproved'),
    lacking: lackingIn(store, season, facts, board, boots),
    warnings: told('board-warned'),
    lost: told('pages-lost'),
  };
}

function gapsIn(times: readonly UtcMs[]): { from: UtcMs; to: UtcMs }[] {
  const sorted = [...times].sort((a, b) => a - b);
  return sorted.slice(1).flatMap((to, index) => {
    const from = sorted[index]!;
    return to - from > GAP_MS ? [{ from, to }] : [];
  });
}

function clockThen(
  boot: Told<'boot-read'> | undefined,
  compared: Told<'clock-compared'> | undefined,
  wasSetIn: (boot: number) => boolean,
): BoardDay['clock'] {
  if (boot?.clock === 'stopped' && !wasSetIn(boot.boot)) return { differenceMs: null };
  return compared === undefined ? null : { differenceMs: compared.differenceMs };
}

/** Slot by slot, in the boots that were read: probes the board never found, or could not read often enough. */
function lackingIn(
  store: Store,
  season: Season,
  facts: readonly RecordedFact[],
  board: BoardId,
  boots: readonly BootRead[],
): Lacking[] {
  const last = boots.at(-1);
  if (last === undefined) return [];
  const found = new Set(
    facts.flatMap(({ fact }) =>
      fact.type === 'probes-found' && fact.board === board && boots.some(({ boot }) => boot === fact.boot)
        ? fact.probes.map(({ rom }) => rom)
        : [],
    ),
  );
  const all = boots.reduce((sum, { scans }) => sum + scans, 0);
  const placed = boots.map(({ proven }) => proven);
  const end = placed.flat().at(-1) ?? last.at;
  const usableOf = (rom: RomId): number =>
    placed
      .filter((times) => times.length > 0)
      .flatMap((times) => observations(store.readings(rom, times[0]!, times.at(-1)!), season.commissioned))
      .length;
  const scans = placed.flat().length;
  return [...season.carriers.values()]
    .filter((carrier) => carrier.board === board)
    .flatMap((carrier) =>
      [...carrier.slots.keys()]
        .sort((a, b) => a - b)
        .flatMap((slot): Lacking[] => {
          const rom = probeIn(carrier, slot, end);
          if (rom === null) return [];
          const place = { carrier: carrier.carrier, slot, rom };
          if (!found.has(rom)) return [{ ...place, usable: null, scans: all }];
          const usable = usableOf(rom);
          return scans - usable > LACKING_MIN * scans ? [{ ...place, usable, scans }] : [];
        }),
    );
}
