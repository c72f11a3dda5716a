import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId } from '../units/ids.js';
import { later, minutes, type UtcMs } from '../units/time.js';
import { observations } from './exposures.js';
import { type MarkOffer, offerFor } from './marks.js';
import { foldSeason } from './season.js';

type Told<Type extends Fact['type']> = Extract<Fact, { type: Type }>;

/** What was read of one board since a fact: its boots, the holes between its scans, its marks. */
export interface BoardDay {
  readonly board: BoardId;
  readonly boots: readonly Told<'boot-read'>[];
  /** Times in which the board took no scan that a ruling may use. */
  readonly gaps: readonly { readonly from: UtcMs; readonly to: UtcMs }[];
  readonly marks: readonly MarkOffer[];
  /** The board's clock against a host's: the first comparison, which is the one that tells of the time alone. */
  readonly clock: Told<'clock-compared'> | null;
  readonly warnings: readonly Told<'board-warned'>[];
  readonly lost: readonly Told<'pages-lost'>[];
}

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
  // The last word on each boot.
  const boots = [...new Map(told('boot-read').map((fact) => [fact.boot, fact])).values()];
  const marks = [
    ...new Map(told('mark-stamped').map((fact) => [`${fact.boot} ${fact.boardMs}`, fact])).values(),
  ];
  return {
    board,
    boots,
    gaps: gapsIn(boots.flatMap(({ boot }) => store.scanTimes(board, boot))),
    marks: marks.map((mark) =>
      offerFor(mark, season, facts, (rom) =>
        observations(
          store.readings(rom as never, later(mark.at, minutes(-10)), later(mark.at, AROUND)),
          season.commissioned,
        ),
      ),
    ),
    clock: told('clock-compared')[0] ?? null,
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
