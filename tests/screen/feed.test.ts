import fc from 'fast-check';
import { beforeEach, describe, expect, it } from 'vitest';
import { type Feed, storeFeed } from '../../src/screen/feed.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseBoardId } from '../../src/units/ids.js';
import { later, minutes } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { followedStore, rom } from './followedStore.js';
import {
  at,
  carrier,
  label,
  loaded,
  probeAssigned,
  reading,
  readings,
  SEVEN,
  seated,
  storeInFolder,
  turned,
  visitOpened,
} from './invented.js';

let store: Store;
let feed: Feed;
const rig = followedStore();
const { add, held, seatOneCup } = rig;
beforeEach(() => {
  ({ store, feed } = rig);
});

describe('storeFeed()', () => {
  it('knows nothing before the first poll', () => {
    seatOneCup();
    expect(feed.season.cups.size).toBe(0);
    feed.poll();
    expect(feed.season.cups.size).toBe(1);
  });

  it('takes in facts and readings that arrive between polls', () => {
    seatOneCup();
    add(reading('A', 1, 2, 27));
    feed.poll();
    expect(feed.slots(at(2))[0]?.cup?.state.latest?.celsius).toBe(27);
    add(reading('A', 1, 3, 15));
    record(store, at(600), () => [turned('260512-01', 200)]);
    expect(feed.slots(at(3))[0]?.cup?.state.latest?.celsius).toBe(27);
    feed.poll();
    expect(feed.slots(at(3))[0]).toMatchObject({ slot: 1, latest: { celsius: 15 }, cup: null });
  });

  it('gives no temperature of an empty slot that was not read for more than two minutes', () => {
    record(store, at(600), () => [visitOpened(), probeAssigned('A', 1)]);
    add(reading('A', 1, 2, 27));
    feed.poll();
    expect(feed.slots(at(4))[0]?.latest?.celsius).toBe(27);
    expect(feed.slots(later(at(4), minutes(0.1)))[0]?.latest).toBeNull();
  });

  it('lists the cups that wait to be seated', () => {
    record(store, at(600), () => [visitOpened(), loaded('260512-09', 3)]);
    feed.poll();
    expect(feed.unseated(at(4)).map(({ cup }) => cup.cup)).toEqual([label('260512-09')]);
  });

  it('puts late readings in their place and counts none twice', () => {
    seatOneCup();
    add(reading('A', 1, 2, 21), reading('A', 1, 5, 24));
    feed.poll();
    add(reading('A', 1, 3, 22), reading('A', 1, 1, 20), reading('A', 1, 5, 24), reading('A', 1, 4, 23));
    feed.poll();
    expect(held()).toEqual([
      [1, 20],
      [2, 21],
      [3, 22],
      [4, 23],
      [5, 24],
    ]);
  });

  it('holds the same in whatever order readings arrive', () => {
    const rows = readings('A', 1, 0, 4, (minute) => 20 + minute);
    fc.assert(
      fc.property(fc.shuffledSubarray(rows, { minLength: rows.length }), fc.nat(8), (shuffled, cut) => {
        const own = storeInFolder();
        try {
          const follower = storeFeed(own.store);
          own.store.append(SEVEN, visitOpened(), probeAssigned('A', 1), loaded('260512-01', 0));
          for (const part of [shuffled.slice(0, cut), shuffled.slice(cut)]) {
            own.store.transaction(() => own.store.addReadings(part));
            follower.poll();
          }
          expect(follower.observationsOf(rom)).toEqual(
            rows.map(({ utc, raw }) => ({ at: utc, celsius: raw! / 16 })),
          );
        } finally {
          own.remove();
        }
      }),
      { numRuns: 15 },
    );
  });

  it('is behind when a fact was recorded, by this process or another, and not when readings came', () => {
    seatOneCup();
    feed.poll();
    expect(feed.isBehind()).toBe(false);
    add(reading('A', 1, 2, 20));
    expect(feed.isBehind()).toBe(false);
    const other = openStoreToWrite(store.path, at(600));
    record(other, at(600), () => [turned('260512-01', 200)]);
    other.close();
    expect(feed.isBehind()).toBe(true);
    expect(feed.isBehind()).toBe(true);
    feed.poll();
    expect(feed.isBehind()).toBe(false);
  });

  it('leaves out what is no observation', () => {
    seatOneCup();
    add(reading('A', 1, 1, 20), reading('A', 1, 2, 0, 'bad-crc'), reading('A', 1, 3, 99));
    feed.poll();
    expect(held()).toEqual([[1, 20]]);
  });

  it('keeps the first of two values at one instant, so that the picture goes on', () => {
    seatOneCup();
    add(reading('A', 1, 2, 20), { ...reading('A', 1, 2, 25), scan: 9999 });
    feed.poll();
    expect(held()).toEqual([[2, 20]]);
    expect(feed.slots(at(2))[0]?.cup?.state.word).toBe('warm');
  });

  it('drains more readings than one query gives', () => {
    seatOneCup();
    add(
      ...readings('A', 1, 0, 100, () => 20).flatMap((row, i) =>
        Array.from({ length: 30 }, (_, j) => ({
          ...row,
          scan: i * 30 + j,
          utc: later(row.utc, minutes(j / 60)),
        })),
      ),
    );
    feed.poll();
    expect(feed.observationsOf(rom)).toHaveLength(201 * 30);
  });

  it('holds no more than what trends show and a few hundred readings when no cup is open', () => {
    seatOneCup();
    add(...readings('A', 1, 0, 200, () => 20));
    feed.poll();
    expect(feed.observationsOf(rom)).toHaveLength(401);
    record(store, at(600), () => [turned('260512-01', 200)]);
    for (let from = 201; from < 1000; from += 100) {
      add(...readings('A', 1, from, from + 99, () => 20));
      feed.poll();
      expect(feed.observationsOf(rom).length).toBeLessThan(256 + 200);
    }
  });

  describe('that begins late in a season', () => {
    /** Three mornings: cups turned on the first two, two that ride on the third, a probe that moved, a board that went. */
    const season = () => {
      feed.poll();
      seatOneCup();
      record(store, at(600), () => [turned('260512-01', 200), probeAssigned('B', 1)]);
      add(...readings('A', 1, 0, 200, (minute) => 20 + (minute % 9)));
      add(reading('B', 2, 30, 20), reading('B', 1, 31, 20, 'bad-crc'), reading('B', 1, 32, 0, 'unplaced'));
      feed.poll();
      for (const [cup, minute] of [
        ['260512-02', 1440],
        ['260512-03', 2880],
      ] as const) {
        record(store, at(6000), () => [loaded(cup, minute), seated(cup, 'A', 1, minute + 1)]);
        add(...readings('A', 1, minute - 60, minute + 180, (each) => 22 + (each % 5)));
        feed.poll();
        if (minute === 1440) record(store, at(6000), () => [turned(cup, minute + 180)]);
      }
      record(store, at(6000), () => [loaded('260512-04', 2890)]);
      add(reading('A', 1, 3061, 99), reading('A', 1, 3062, 0, 'bad-crc'));
      while (store.sealOldest(at(2700), Number.MAX_SAFE_INTEGER, at(6000)) !== null);
      feed.poll();
    };
    const told = (of: Feed) =>
      [2900, 3060.5, 3063, 3070].map((minute) => ({
        slots: of.slots(at(minute)),
        unseated: of.unseated(at(minute)),
        heard: of.heard(at(minute)),
        clocks: of.clocks(),
      }));

    it('tells the same as one that followed it from its beginning', () => {
      season();
      const late = storeFeed(store);
      late.poll();
      expect(told(late)).toEqual(told(feed));
      expect(late.observationsOf(rom).filter((o) => o.at >= at(2880))).toEqual(
        feed.observationsOf(rom).filter((o) => o.at >= at(2880)),
      );
      expect(told(late)[1]!.heard).toEqual([
        { name: 'A', at: at(3062) },
        { name: 'B', at: at(31) },
        { name: 'board 0A1B2C3E', at: at(30) },
      ]);
      add(reading('A', 1, 3064, 12));
      record(store, at(6000), () => [turned('260512-03', 3064)]);
      for (const each of [late, feed]) each.poll();
      expect(told(late)).toEqual(told(feed));
    });

    it('reads what the open cups need, where the other one read the whole season', () => {
      let taken = 0;
      const counted = <T>(rows: T[]): T[] => {
        taken += rows.length;
        return rows;
      };
      const counting: Store = {
        ...store,
        readings: (...of) => counted(store.readings(...of)),
        readingsAfter: (...of) => counted(store.readingsAfter(...of)),
      };
      feed = storeFeed(counting);
      season();
      // Two readings a minute: 201 minutes of the first morning, and 241 of each of the others.
      expect(taken).toBeGreaterThan(2 * (200 + 240 + 240));
      taken = 0;
      storeFeed(counting).poll();
      // From the load of the third morning's cup on: 180 minutes.
      expect(taken).toBeGreaterThan(360);
      expect(taken).toBeLessThan(370);
    });

    it('begins again when the store could not be read', () => {
      season();
      let isBusy = true;
      const late = storeFeed({
        ...store,
        readings(...of) {
          if (isBusy) throw new Error('busy');
          return store.readings(...of);
        },
      });
      expect(() => late.poll()).toThrow('busy');
      isBusy = false;
      late.poll();
      expect(told(late)).toEqual(told(feed));
    });
  });

  it('fetches from the store again what a cup recorded late needs', () => {
    seatOneCup();
    record(store, at(600), () => [turned('260512-01', 200)]);
    add(...readings('A', 1, 0, 500, () => 20));
    feed.poll();
    expect(feed.observationsOf(rom)[0]!.at).toBeGreaterThan(at(400));
    seatOneCup('260512-02', 300);
    feed.poll();
    expect(feed.observationsOf(rom).filter((o) => o.at >= at(300))).toHaveLength(401);
    expect(feed.slots(at(500))[0]?.cup?.state.coldMinutes).toMatchObject({ certain: 0 });
  });

  it('does not let a cup that nobody turned fill the memory', () => {
    seatOneCup();
    const day = 24 * 60;
    for (let from = 0; from < 3 * day; from += day)
      add(...Array.from({ length: day }, (_, i) => reading('A', 1, from + i, 20)));
    feed.poll();
    expect(feed.observationsOf(rom).length).toBeLessThan(day + 256);
  });

  it('tells when each carrier was last read, whatever that was worth, and of a board that has no place', () => {
    seatOneCup();
    record(store, at(600), () => [probeAssigned('B', 1)]);
    add(reading('A', 1, 2, 27), reading('A', 1, 3, 0, 'bad-crc'), reading('B', 2, 9, 20));
    feed.poll();
    expect(feed.heard(at(10))).toEqual([
      { name: 'A', at: at(3) },
      { name: 'B', at: null },
      { name: 'board 0A1B2C3E', at: at(9) },
    ]);
  });

  it('tells what is known of the clock of each board', () => {
    const board = parseBoardId('0A1B2C3D')!;
    seatOneCup();
    record(store, at(600), () => [
      { type: 'board-bound', carrier: carrier('A'), board, at: at(0) },
      {
        type: 'board-booted',
        board,
        boot: 1,
        resetCause: 'power-on',
        firmware: '1',
        clock: 'stopped',
        at: at(0),
      },
    ]);
    feed.poll();
    expect(feed.clocks()).toEqual([{ name: 'A', state: 'stopped', differenceMs: null }]);
    record(store, at(600), () => [
      { type: 'clock-compared', board, boot: 1, boardMs: 9, differenceMs: -400, at: at(1) },
    ]);
    feed.poll();
    expect(feed.clocks()).toEqual([{ name: 'A', state: 'running', differenceMs: -400 }]);
  });
});
