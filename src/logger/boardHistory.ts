import { PROVEN_WITHIN } from '../exposure/bootPlacement.js';
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
  /** Boots whose readings are kept but not proven. */
  unprovenBoots(board: BoardId): number[];
  /** The last comparison of a board's clock with a host's. */
  lastCompared(board: BoardId): Told<'clock-compared'> | null;
  wasComparedIn(board: BoardId, boot: number): boolean;
  /**
   * How far the board's clock may have been wrong at a moment, ms; null when it cannot be believed. It is believed
   * when the next comparison found it right; when none came, or the clock had stopped by then, the one before counts.
   * A time of it that the counter contradicts is a comparison, too: what comes after it says nothing of what was before.
   * Where the clock may have been set up to the next comparison, the one before must have found it right as well, and the clock
   * not have been set since then.
   *
   * @param found such times that are not on record yet
   */
  clockError(
    board: BoardId,
    boot: number,
    at: BoardMs,
    found: readonly Told<'clock-disproved'>[],
    goesOn: ClockGoesOn,
  ): number | null;
  /**
   * The comparison that found the clock wrong in the same boot, later on and before anything else was told of it: until
   * then it was wrong by as much. Null when there is none, or the clock may have been set on the way.
   */
  foundWrong(
    board: BoardId,
    boot: number,
    at: BoardMs,
    found: readonly Told<'clock-disproved'>[],
    goesOn: ClockGoesOn,
  ): (Told<'clock-compared'> & { differenceMs: number }) | null;
  disproved(board: BoardId): readonly Told<'clock-disproved'>[];
  /** Whether a mark is known, and if so whether its time is proven. */
  mark(board: BoardId, boot: number, at: BoardMs): boolean | null;
}

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

  /** What was told of the clock last before a moment, and next from it on. */
  const around = (board: BoardId, moment: BoardMoment, found: readonly Told<'clock-disproved'>[]) => {
    const list = [...(compared.get(board) ?? []), ...(disproved.get(board) ?? []), ...found].sort(
      inBoardTime,
    );
    const next = list.findIndex((each) => inBoardTime(each, moment) >= 0);
    return { before: list[next < 0 ? list.length - 1 : next - 1], after: next < 0 ? undefined : list[next] };
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
    unprovenBoots: (board) =>
      [...reads.values()]
        .filter((read) => read.board === board && read.provenBy === 'nothing')
        .map(({ boot }) => boot),
    lastCompared: (board) => compared.get(board)?.at(-1) ?? null,
    wasComparedIn: (board, boot) => compared.get(board)?.some((each) => each.boot === boot) ?? false,
    disproved: (board) => disproved.get(board) ?? [],
    clockError(board, boot, at, found, goesOn) {
      const moment = { boot, boardMs: at };
      const { before, after } = around(board, moment, found);
      const errors = after?.differenceMs == null ? [] : [Math.abs(after.differenceMs)];
      if (errors.length === 0 || !goesOn(moment, after!)) {
        if (before?.differenceMs == null || !goesOn(before, moment)) return null;
        errors.push(Math.abs(before.differenceMs));
      }
      const worst = Math.max(...errors);
      return worst <= PROVEN_WITHIN ? worst : null;
    },
    foundWrong(board, boot, at, found, goesOn) {
      const moment = { boot, boardMs: at };
      const { after } = around(board, moment, found);
      if (after?.type !== 'clock-compared' || after.boot !== boot || after.differenceMs === null) return null;
      if (Math.abs(after.differenceMs) <= PROVEN_WITHIN || !goesOn(moment, after)) return null;
      return { ...after, differenceMs: after.differenceMs };
    },
    mark: (board, boot, at) => marks.get(key(board, boot, at)) ?? null,
  };
}
