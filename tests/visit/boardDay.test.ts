import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import { parseBoardId } from '../../src/units/ids.js';
import { boardMs } from '../../src/units/time.js';
import { boardDay } from '../../src/visit/boardDay.js';
import { eachInNewStore } from './newStore.js';
import { assigns, carrier, inventedRom, minute, OPENED, otherRom, rom } from './situation.js';

const board = parseBoardId('0A1B2C3D')!;
const never = inventedRom(7);
const SCANS = 100;
const read: Fact = {
  type: 'boot-read',
  board,
  boot: 1,
  resetCause: 'power-on',
  clock: 'running',
  scans: SCANS,
  provenBy: 'clock',
  withinMs: 900,
  at: minute(1),
};
const compared = (boot: number, differenceMs: number | null, at: number): Fact => ({
  type: 'clock-compared',
  board,
  boot,
  boardMs: boardMs(at * 60_000),
  differenceMs,
  at: minute(at),
});

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

/** A day of a board with two probes, of which the second has so many damaged readings; a third never was there. */
function aDay(damaged: number, ...facts: Fact[]): void {
  const probes = [rom, otherRom].map((each, index) => ({ index, rom: each }));
  store.append(
    OPENED,
    { type: 'board-bound', carrier, board, at: minute(0) },
    assigns(1),
    assigns(2, otherRom),
    assigns(3, never),
    { type: 'probes-found', board, boot: 1, table: 1, probes, at: minute(1) },
    ...facts,
  );
  store.addReadings(
    Array.from({ length: SCANS }, (_, scan) =>
      [rom, otherRom].map((each, slotIndex) => ({ scan, each, slotIndex })),
    )
      .flat()
      .map(({ scan, each, slotIndex }) => ({
        rom: each,
        board,
        boot: 1,
        scan,
        slotIndex,
        boardMs: boardMs(scan * 20_000),
        utc: minute(1 + scan / 3),
        raw: 400,
        status: slotIndex === 1 && scan < damaged ? ('bad-crc' as const) : ('ok' as const),
      })),
  );
}
const place = (slot: number, probe: string, usable: number | null) => ({
  carrier,
  slot,
  rom: probe,
  usable,
  scans: SCANS,
});

describe('boardDay()', () => {
  it('names the slot whose probe was never found, and the one whose readings are often of no use', () => {
    aDay(40, read);
    expect(boardDay(store, board, 0).lacking).toEqual([place(2, otherRom, 60), place(3, never, null)]);
  });

  it('does not name a probe for a damaged reading in a hundred', () => {
    aDay(1, read);
    expect(boardDay(store, board, 0).lacking).toEqual([place(3, never, null)]);
  });

  it('names nothing when nothing was read', () => {
    aDay(40);
    expect(boardDay(store, board, 0).lacking).toEqual([]);
  });

  it('tells the first comparison of the clock', () => {
    aDay(0, read, compared(2, 400, 60), compared(2, 300, 90));
    expect(boardDay(store, board, 0).clock).toEqual({ differenceMs: 400 });
  });

  it('does not take a clock that had stopped for right because a host has set it', () => {
    const stopped = { ...read, clock: 'stopped' } as Fact;
    aDay(0, stopped, compared(2, 300, 60));
    expect(boardDay(store, board, 0).clock).toEqual({ differenceMs: null });
  });

  it('believes it when a host had set it during that boot already', () => {
    const stopped = { ...read, clock: 'stopped' } as Fact;
    aDay(0, compared(1, 300, 10));
    const before = store.head().count;
    store.append(OPENED, stopped, compared(2, 250, 60));
    expect(boardDay(store, board, before).clock).toEqual({ differenceMs: 250 });
  });
});
