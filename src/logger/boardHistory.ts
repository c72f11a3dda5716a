import { PROVEN_WITHIN } from '../exposure/bootPlacement.js';
import { CHIP_WANDERS } from '../exposure/pace.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId, RomId } from '../units/ids.js';
import { type BoardMs, boardMs, durationMs, later, type UtcMs } from '../units/time.js';
import { type BoardMoment, type ClockGoesOn, inBoardTime } from './clockGoesOn.js';

type Told<Type extends Fact['type']> = Extract<Fact, { type: Type }>;

/** What a store's facts tell of its boards, kept up to date piece by piece. */
export interface BoardHistory {
  /** Takes in the facts that were added since the last call. */
  refresh(): void;
  /** The line that told a host of a boot, and when; null when none was told. */
  firstHeard(board: BoardId, boot: number): { readonly boardMs: BoardMs; readonly utc: UtcMs } | null;
  /** The probes of a table, null when it was never told. */
  table(board: BoardId, boot: number, table: number): ReadonlyMap<number, RomId> | null;
  bootRead(board: BoardId, boot: number): Told<'boot-read'> | null;
  /** The last comparison of a board's clock with a host's. */
  lastCompared(board: BoardId): Told<'clock-compared'> | null;
  wasComparedIn(board: BoardId, boot: number): boolean;
  comparedIn(board: BoardId): readonly Told<'clock-compared'>[];
  /** The last boot before this one in which the clock was compared; null when there is none. */
  lastComparedBefore(board: BoardId, boot: number): number | null;
  /**
   * How far the board's clock may have been wrong at a moment, ms; null when it cannot be believed. It is believed, in this
   * order, when
   * 1. the comparison before found it right, and it goes on from there unset: a later one that finds it wrong shows that a
   *    computer was moved. It may have run off by as much as a clock chip does.
   * 2. the next comparison found it right, and it goes on to there unset; it may have run off by as much.
   */
  clockError(moment: ClockMoment, goesOn: ClockGoesOn): number | null;
  /**
   * The comparison that found the clock wrong in the same boot, later on and before anything else was told of it: until
   * then it was wrong by as much. Null when there is none, the clock may have been set on the way, or it was right.
   */
  foundWrong(
    moment: ClockMoment,
    goesOn: ClockGoesOn,
  ): (Told<'clock-compared'> & { differenceMs: number }) | null;
  /** Whether the last comparison before a moment or the next after it was of the clock as it was set then. */
  isCompared(board: BoardId, moment: BoardMoment, goesOn: ClockGoesOn): boolean;
  /** Comparisons in a boot that found a clock wrong which had been right and was not set since: the computer was moved. */
  movedComputers(
    board: BoardId,
    boot: number,
    goesOn: ClockGoesOn,
  ): (Told<'clock-compared'> & { differenceMs: number })[];
  /** Whether a comparison in a boot found the clock wrong after another one had found it right: no pace is measured by such hosts. */
  isAtOdds(board: BoardId, boot: number): boolean;
  disproved(board: BoardId): readonly Told<'clock-disproved'>[];
  /** Whether a mark is known, and if so whether its time is proven. */
  mark(board: BoardId, boot: number, at: BoardMs): boolean | null;
}

/** A moment of a board, and what its clock told then; null when that is not known in full. */
export interface ClockMoment extends BoardMoment {
  readonly board: BoardId;
  readonly utc: number | null;
}

/** Whether a comparison found a clock right. */
export const isRight = (differenceMs: number | null | undefined): differenceMs is number =>
  differenceMs != null && Math.abs(differenceMs) <= PROVEN_WITHIN;

export function boardHistory(store: Store): BoardHistory {
  let seen = 0;
  const firstHeard = new Map<string, { readonly boardMs: BoardMs; readonly utc: UtcMs }>();
  const tables = new Map<string, ReadonlyMap<number, RomId>>();
  const reads = new Map<string, Told<'boot-read'>>();
  const compared = new Map<BoardId, Told<'clock-compared'>[]>();
  const disproved = new Map<BoardId, Told<'clock-disproved'>[]>();
  const marks = new Map<string, boolean>();
  const key = (...parts: (string | number)[]) => parts.join(' ');

  const take = (fact: Fact): void => {
    switch (fact.type) {
      case 'board-booted':
        if (fact.boardMs !== undefined) {
          const told = boardMs(fact.boardMs);
          firstHeard.set(key(fact.board, fact.boot), {
            boardMs: told,
            utc: later(fact.at, durationMs(told)),
          });
        }
        return;
      case 'probes-found':
        tables.set(
          key(fact.board, fact.boot, fact.table),
          new Map(fact.probes.map(({ index, rom }) => [index, rom])),
        );
        return;
      case 'boot-read':
        reads.set(key(fact.board, fact.boot), fact);
        return;
      case 'clock-compared': {
        const list = compared.get(fact.board) ?? [];
        compared.set(fact.board, [...list, fact].sort(inBoardTime));
        return;
      }
      case 'clock-disproved':
        disproved.set(fact.board, [...(disproved.get(fact.board) ?? []), fact]);
        return;
      case 'mark-stamped':
        marks.set(key(fact.board, fact.boot, fact.boardMs), fact.isProven);
        return;
      default:
        return;
    }
  };

  /** The comparison last before a moment, and the next from it on. */
  const around = (board: BoardId, moment: BoardMoment) => {
    const list = compared.get(board) ?? [];
    const next = list.findIndex((each) => inBoardTime(each, moment) >= 0);
    return { before: list[next < 0 ? list.length - 1 : next - 1], after: next < 0 ? undefined : list[next] };
  };

  /** How far a clock may be wrong that was found right before a moment and goes on to it; null when that is not so. */
  const errorSince = (
    before: Told<'clock-compared'> | undefined,
    moment: ClockMoment,
    goesOn: ClockGoesOn,
  ): number | null => {
    if (!before || !isRight(before.differenceMs) || !goesOn.isUnset(before, moment)) return null;
    const elapsed =
      before.boot === moment.boot
        ? moment.boardMs - before.boardMs
        : (moment.utc ?? Number.POSITIVE_INFINITY) - before.at;
    const error = Math.abs(before.differenceMs) + elapsed * CHIP_WANDERS;
    return elapsed >= 0 && isRight(error) ? error : null;
  };

  return {
    refresh() {
      for (const { seq, fact } of store.facts(seen)) {
        take(fact);
        seen = seq;
      }
    },
    firstHeard: (board, boot) => firstHeard.get(key(board, boot)) ?? null,
    table: (board, boot, table) => tables.get(key(board, boot, table)) ?? null,
    bootRead: (board, boot) => reads.get(key(board, boot)) ?? null,
    lastCompared: (board) => compared.get(board)?.at(-1) ?? null,
    wasComparedIn: (board, boot) => compared.get(board)?.some((each) => each.boot === boot) ?? false,
    disproved: (board) => disproved.get(board) ?? [],
    comparedIn: (board) => compared.get(board) ?? [],
    lastComparedBefore: (board, boot) =>
      compared.get(board)?.findLast((each) => each.boot < boot)?.boot ?? null,
    clockError(moment, goesOn) {
      const { before, after } = around(moment.board, moment);
      const since = errorSince(before, moment, goesOn);
      if (!after || !isRight(after.differenceMs) || !goesOn.isUnset(moment, after)) return since;
      // Between two comparisons it went from one difference to the other.
      if (before && isRight(before.differenceMs) && goesOn.isUnset(before, moment))
        return Math.max(Math.abs(after.differenceMs), Math.abs(before.differenceMs));
      const elapsed =
        after.boot === moment.boot
          ? after.boardMs - moment.boardMs
          : after.at - (moment.utc ?? Number.NEGATIVE_INFINITY);
      const error = Math.abs(after.differenceMs) + elapsed * CHIP_WANDERS;
      return isRight(error) ? error : null;
    },
    foundWrong(moment, goesOn) {
      const { before, after } = around(moment.board, moment);
      if (after?.boot !== moment.boot || after.differenceMs === null) return null;
      if (isRight(after.differenceMs) || !goesOn.isUnset(moment, after)) return null;
      return errorSince(before, moment, goesOn) === null
        ? { ...after, differenceMs: after.differenceMs }
        : null;
    },
    isCompared(board, moment, goesOn) {
      const { before, after } = around(board, moment);
      return (
        (before !== undefined && goesOn.isUnset(before, moment)) ||
        (after !== undefined && goesOn.isUnset(moment, after))
      );
    },
    movedComputers: (board, boot, goesOn) =>
      (compared.get(board) ?? []).flatMap((each) => {
        const { differenceMs } = each;
        if (each.boot !== boot || differenceMs === null || isRight(differenceMs)) return [];
        const moment = { board, boot, boardMs: each.boardMs, utc: each.at + differenceMs };
        const { before } = around(board, moment);
        return errorSince(before, moment, goesOn) === null ? [] : [{ ...each, differenceMs }];
      }),
    isAtOdds(board, boot) {
      const own = (compared.get(board) ?? []).filter((each) => each.boot === boot);
      const first = own.findIndex(({ differenceMs }) => isRight(differenceMs));
      return first >= 0 && own.slice(first).some(({ differenceMs }) => !isRight(differenceMs));
    },
    mark: (board, boot, at) => marks.get(key(board, boot, at)) ?? null,
  };
}
