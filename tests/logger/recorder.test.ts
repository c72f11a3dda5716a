import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { recorder } from '../../src/logger/recorder.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseBoardId, parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const START = utcMs(Date.UTC(2026, 4, 12, 12));
const anchor = { utc: START, monotonic: monotonicMs(0) };
const board = parseBoardId('0A1B2C3D')!;
// ROM id that checks: published clone report, CC BY (reference/sensing.md 1.2)
const rom = parseRomId('28-13-9B-BB-0B-00-00-1F')!;
const carrier = parseCarrierId('A')!;

let folder: string;
let store: Store;
eachInNewFolder((fresh) => {
  folder = fresh;
  store = openStoreToWrite(join(folder, 'x.sqlite'), START);
});
afterEach(() => {
  store.close();
});

/** Events of one boot, as a host hears them `hostMs` after the logger started. */
const at = (hostMs: number, boardTime: number, bootCount = 1) => ({
  arrival: { utc: utcMs(START + hostMs), monotonic: monotonicMs(hostMs) },
  boardMs: boardMs(boardTime),
  board,
  bootCount,
});
const boot = (hostMs: number, boardTime: number, bootCount = 1): CarrierEvent => ({
  kind: 'boot',
  ...at(hostMs, boardTime, bootCount),
  resetCause: 'power-on',
  firmwareVersion: '0.1.0',
  protocolVersion: 1,
  clock: 'absent',
});
const beat = (hostMs: number, boardTime: number, bootCount = 1): CarrierEvent => ({
  kind: 'heartbeat',
  ...at(hostMs, boardTime, bootCount),
});
const scan = (hostMs: number, boardTime: number, number: number, bootCount = 1): CarrierEvent => ({
  kind: 'scan',
  ...at(hostMs, boardTime, bootCount),
  scan: number,
  table: 1,
  readings: [{ rom, index: 0, raw: 400, status: 'ok' }],
});
const times = () => store.readings(rom, utcMs(0), utcMs(START * 2)).map(({ utc }) => utc - START);
const types = () => store.facts().map(({ fact }) => fact.type);

describe('recorder()', () => {
  it('stamps a scan with when it was taken, not with when its line arrived', () => {
    recorder(store, anchor, carrier, () => {}).record([boot(100, 50), scan(11_400, 10_000, 1)], START);
    expect(times()).toEqual([10_050]);
  });

  it.each([
    ['says so of a board that hears and does not tell when its clock is set', 2, 1],
    ['says nothing of one that does', 3, 0],
    ['says nothing of one that hears nothing (negative control)', 1, 0],
  ])('%s', (_what, protocolVersion, times) => {
    const said: string[] = [];
    const writer = recorder(store, anchor, carrier, (sentence) => said.push(sentence));
    writer.record([{ ...boot(100, 50), protocolVersion } as CarrierEvent], START);
    expect(said.filter((sentence) => /does not tell when its clock is set/.test(sentence))).toHaveLength(
      times,
    );
  });

  it('places the first scan by the least late line, when the first lines of a boot came late', () => {
    const busy = recorder(store, anchor, carrier, () => {});
    // Nine seconds too late, and what the board said meanwhile right behind it.
    const waiting = [...Array(15).keys()].map((beats) => beat(9050, 50 + (beats + 1) * 600));
    busy.record([boot(9050, 50), ...waiting, scan(11_400, 10_000, 1)], START);
    expect(times()).toEqual([10_000]);
  });

  it('is late by as much as the only line before the first scan (negative control)', () => {
    recorder(store, anchor, carrier, () => {}).record([boot(9050, 50), scan(11_400, 10_000, 1)], START);
    expect(times()).toEqual([19_000]);
  });

  /** What a host that was asleep for so long hears: its own time goes on, its monotonic clock does not. */
  const utcAt = (hostMs: number, sleptMs = 0) => utcMs(START + hostMs + sleptMs);
  /** A logger that hears a boot as told, one line a transaction, and what it says of it. */
  function heardBoot(...events: readonly CarrierEvent[]): string[] {
    const said: string[] = [];
    const writer = recorder(store, anchor, carrier, (sentence) => said.push(sentence));
    for (const event of events) writer.record([event], utcAt(event.arrival.monotonic));
    return said;
  }
  const idsAndTimes = () =>
    store.readings(rom, utcMs(0), utcMs(START * 2)).map(({ id, utc }) => [id, utc - START]);

  it('is not late for ever when the first line of a boot came five seconds late', () => {
    heardBoot(boot(5050, 50), beat(5060, 3050), scan(11_400, 10_000, 1), beat(11_500, 11_480));
    expect(times()).toEqual([10_010 + 10]);
  });

  it('puts the times of the first minute right when all of it came five seconds late, and keeps the numbers', () => {
    const minute = [...Array(60).keys()].flatMap((second): CarrierEvent[] => [
      beat(second * 1000 + 5020, second * 1000),
      ...(second % 10 === 5 ? [scan(second * 1000 + 5100, second * 1000 - 1000, 1 + (second - 5) / 10)] : []),
    ]);
    heardBoot(boot(5000, 0), ...minute);
    const ids = idsAndTimes().map(([id]) => id);
    // Negative control: nothing shows yet that they were late.
    expect(times()).toEqual([9000, 19_000, 29_000, 39_000, 49_000, 59_000]);
    const said: string[] = [];
    store.close();
    store = openStoreToWrite(join(folder, 'y.sqlite'), START);
    said.push(...heardBoot(boot(5000, 0), ...minute, beat(61_010, 61_000), scan(65_100, 64_000, 7)));
    expect(
      idsAndTimes()
        .map(([id]) => id)
        .slice(0, 6),
    ).toEqual(ids);
    expect(times()).toEqual([4010, 14_010, 24_010, 34_010, 44_010, 54_010, 64_010]);
    expect(store.heardEnds(board, 1)).toEqual([
      { boardMs: 4000, utc: START + 4010 },
      { boardMs: 64_000, utc: START + 64_010 },
    ]);
    expect(said.join()).toContain('came up to 5.0 s late; the times of its first scans were put right');
    expect(said.join()).not.toContain('asleep');
  });

  it('does not take a sleep in the first minute, through which its clock goes on, for lines that were late', () => {
    const said: string[] = [];
    const writer = recorder(store, anchor, carrier, (sentence) => said.push(sentence));
    writer.record([boot(0, 0)], utcAt(0));
    writer.record([scan(11_000, 10_000, 1)], utcAt(11_000));
    // It slept for 40 s.
    writer.record([beat(52_000, 52_000)], utcAt(52_000));
    writer.record([scan(53_000, 52_900, 2)], utcAt(53_000));
    expect(times()).toEqual([10_000, 52_900]);
    expect(said.join()).not.toContain('asleep');
  });

  it('puts late times right with what is written next, when they could not be put right at once', () => {
    let isFull = false;
    // A disk that is full for one line.
    const full: Store = {
      ...store,
      transaction(task) {
        if (isFull) throw new Error('full');
        return store.transaction(task);
      },
    };
    const writer = recorder(full, anchor, carrier, () => {});
    writer.record([boot(5050, 50)], utcAt(5050));
    writer.record([scan(15_050, 10_000, 1)], utcAt(15_050));
    isFull = true;
    expect(() => writer.record([beat(15_100, 15_000)], utcAt(15_100))).toThrow('full');
    isFull = false;
    expect(times()).toEqual([15_000]);
    writer.record([scan(20_200, 20_000, 2)], utcAt(20_200));
    expect(times()).toEqual([10_100, 20_100]);
  });

  it('begins no transaction for a line that leaves nothing to write', () => {
    let transactions = 0;
    const counted: Store = {
      ...store,
      transaction(task) {
        transactions += 1;
        return store.transaction(task);
      },
    };
    const writer = recorder(counted, anchor, carrier, () => {});
    writer.record([boot(100, 50)], START);
    writer.record([beat(1050, 1000)], START);
    writer.record([boot(1100, 1050)], START);
    expect(transactions).toBe(1);
    writer.record([scan(10_050, 10_000, 1)], START);
    expect(transactions).toBe(2);
  });

  it('leaves what is sealed as it is', () => {
    const writer = recorder(store, anchor, carrier, () => {});
    writer.record([boot(5000, 0)], utcAt(5000));
    writer.record([scan(15_500, 10_000, 1)], utcAt(15_500));
    store.sealOldest(utcMs(START + 3_600_000), 1, START);
    writer.record([scan(25_500, 20_000, 2)], utcAt(25_500));
    writer.record([beat(25_600, 25_590)], utcAt(25_600));
    expect(times()).toEqual([15_000, 20_010]);
    expect(store.brokenBlocks()).toEqual([]);
  });

  it('binds the board to its carrier and tells each boot once', () => {
    const events = [boot(100, 50)];
    recorder(store, anchor, carrier, () => {}).record(events, START);
    recorder(store, anchor, carrier, () => {}).record(events, START);
    expect(types()).toEqual(['store-created', 'board-bound', 'board-booted']);
  });

  it('keeps the board as the ruler while this computer sleeps', () => {
    const said: string[] = [];
    const sleepy = recorder(store, anchor, carrier, (sentence) => said.push(sentence));
    sleepy.record([boot(0, 0), scan(11_000, 10_000, 1)], START);
    // One hour later by the board; the host's monotonic clock has moved by two seconds.
    sleepy.record([beat(13_000, 3_612_000), scan(14_000, 3_613_000, 2)], START);
    expect(times()).toEqual([10_000, 3_613_000]);
    expect(said.join()).toContain("the board's counts");
  });

  /** A board whose resonator runs 0.4 % fast (up to 0.5 %: sensing.md section 3), heard for five minutes and again after an hour. */
  const FAST = 1.004;
  const HOUR_MS = 3_600_000;
  const beats = (fromS: number, toS: number): CarrierEvent[] =>
    Array.from({ length: toS - fromS }, (_, index) => {
      const ms = (fromS + index) * 1000;
      return beat(ms + 20, Math.round(ms * FAST));
    });

  it('keeps to its own time where it did not hear the board for an hour, for a scan that comes first, too', () => {
    const said: string[] = [];
    const writer = recorder(store, anchor, carrier, (sentence) => said.push(sentence));
    const hear = (event: CarrierEvent) => writer.record([event], utcAt(event.arrival.monotonic));
    [boot(0, 0), ...beats(1, 300), scan(300_100, Math.round(300_000 * FAST), 30)].forEach(hear);
    const back = 300_000 + HOUR_MS;
    hear(scan(back + 1500, Math.round(back * FAST), 390));
    // By the counter alone.
    expect(times().at(-1)).toBeGreaterThan(back + 14_000);
    beats(302 + 3600, 320 + 3600).forEach(hear);
    hear(scan(back + 21_500, Math.round((back + 20_000) * FAST), 392));
    const [first, second, third] = times();
    for (const [label, at] of [
      [first, 300_000],
      [second, back],
      [third, back + 20_000],
    ] as const)
      expect(Math.abs(label! - at)).toBeLessThan(150);
    expect(said.join()).not.toMatch(/asleep|late/);
  });

  it('measures no pace across a step of its own clock', () => {
    const writer = recorder(store, anchor, carrier, () => {});
    const hear = (event: CarrierEvent) => writer.record([event], utcAt(event.arrival.monotonic));
    [boot(0, 0), ...beats(1, 200), scan(200_100, 200_000, 20)].forEach(hear);
    // It stood still for an hour, and nothing told it so.
    hear(beat(201_000, Math.round((201_000 + HOUR_MS) * FAST)));
    hear(scan(203_000, Math.round((202_000 + HOUR_MS) * FAST), 380));
    expect(store.heardEnds(board, 1)).toHaveLength(1);
  });

  it('goes on over the wrap of the board’s counter, and looks back over it', () => {
    const WRAP = 2 ** 32;
    const said: string[] = [];
    const writer = recorder(store, anchor, carrier, (sentence) => said.push(sentence));
    writer.record(
      [boot(0, WRAP - 60_000), scan(10_500, WRAP - 50_000, 1), beat(59_500, WRAP - 500), beat(60_500, 500)],
      START,
    );
    // A scan that began before the wrap and was told after it, and one behind it.
    writer.record([scan(60_800, WRAP - 400, 2), beat(61_500, 1500), scan(71_000, 10_000, 3)], START);
    expect(times()).toEqual([10_000, 59_600, 70_000]);
    expect(said.filter((sentence) => sentence.includes('asleep'))).toEqual([]);
  });

  it('places a second boot after the first', () => {
    const two = recorder(store, anchor, carrier, () => {});
    two.record([boot(0, 0), scan(11_000, 10_000, 1)], START);
    two.record([boot(60_000, 0, 2), scan(71_000, 10_000, 1, 2)], START);
    expect(times()).toEqual([10_000, 70_000]);
  });

  describe('of what was discarded', () => {
    const discarded = (bytes = 40): CarrierEvent => ({
      kind: 'discarded',
      arrival: at(0, 0).arrival,
      reason: 'bad-crc',
      bytes,
    });
    const counted = (times: number, bytes: number) => [{ reason: 'bad-crc', times, bytes }];
    const later = (ms: number) => utcMs(START + ms);

    it('writes the count with the next scan', () => {
      const writer = recorder(store, anchor, carrier, () => {});
      writer.record([boot(100, 50)], START);
      writer.record([discarded(), discarded(2)], START);
      writer.record([beat(200, 100)], later(5000));
      expect(store.discards()).toEqual([]);
      writer.record([scan(11_400, 10_000, 1)], later(11_400));
      expect(store.discards()).toEqual(counted(2, 42));
      writer.record([scan(21_400, 20_000, 2)], later(21_400));
      expect(store.discards()).toEqual(counted(2, 42));
    });

    it('writes it after a minute without one, and at the end', () => {
      const writer = recorder(store, anchor, carrier, () => {});
      writer.record([discarded()], START);
      writer.record([discarded()], later(59_999));
      expect(store.discards()).toEqual([]);
      writer.record([discarded()], later(60_000));
      expect(store.discards()).toEqual(counted(3, 120));
      writer.record([discarded()], later(60_001));
      writer.record([], later(60_002));
      expect(store.discards()).toEqual(counted(4, 160));
    });

    it('keeps the count when it could not be written', () => {
      let isFull = true;
      const failing: Store = {
        ...store,
        transaction: (task) => {
          if (isFull) throw new Error('full');
          return store.transaction(task);
        },
      };
      const writer = recorder(failing, anchor, carrier, () => {});
      writer.record([discarded()], START);
      expect(() => writer.record([], START)).toThrow('full');
      isFull = false;
      writer.record([], START);
      expect(store.discards()).toEqual(counted(1, 40));
    });
  });
});
