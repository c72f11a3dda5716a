import { describe, expect, it } from 'vitest';
import { UNPLACED } from '../../src/store/logShelf.js';
import type { Store, StoredReading } from '../../src/store/store.js';
import { parseBoardId, parseRomId } from '../../src/units/ids.js';
import { boardMs, utcMs } from '../../src/units/time.js';
import { eachInNewStore } from '../visit/newStore.js';

const NOW = utcMs(1_778_587_200_000);
const board = parseBoardId('0A1B2C3D')!;
const reading = (scan: number, status = 'ok'): Omit<StoredReading, 'id'> => ({
  // ROM id that checks: published clone report, CC BY (reference/sensing.md 1.2)
  rom: parseRomId('28-13-9B-BB-0B-00-00-1F')!,
  board,
  boot: 1,
  scan,
  slotIndex: 0,
  boardMs: boardMs(scan * 10_000),
  utc: utcMs(NOW + scan * 10_000),
  raw: 480,
  status,
});

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
}, NOW);
const at = (readings: number, facts = 0) => ({ readings, facts });

describe('outbox()', () => {
  it('is empty until a person sets the mirror up', () => {
    expect(store.mirror()).toBeNull();
    store.setMirror('{}', false);
    expect(store.mirror()).toEqual({
      revision: 1,
      isOn: true,
      target: '{}',
      sent: at(0),
      released: at(0),
      refused: 0,
      state: 'new',
      trouble: null,
      success: null,
    });
  });

  it('keeps how far the sending came, through off and on', () => {
    store.setMirror('{}', true);
    expect(store.moveMirror(1, at(7, 2), at(5, 1), 3, NOW)).toBe(true);
    store.turnMirrorOff();
    expect(store.mirror()).toMatchObject({ isOn: false, revision: 2 });
    store.setMirror('{}', false);
    expect(store.mirror()).toMatchObject({
      isOn: true,
      revision: 3,
      sent: at(7, 2),
      released: at(5, 1),
      refused: 3,
      success: NOW,
    });
    store.setMirror('{}', true);
    expect(store.mirror()).toMatchObject({ sent: at(0), released: at(0), refused: 0, success: null });
  });

  it('does not let what was sent to one server count for another', () => {
    store.setMirror('{"old":1}', true);
    store.setMirror('{"new":1}', true);
    expect(store.moveMirror(1, at(7), at(7), 0, NOW)).toBe(false);
    store.tellMirror(1, 'stopped', 'old trouble', NOW);
    expect(store.mirror()).toMatchObject({ sent: at(0), state: 'new', trouble: null });
  });

  it('counts what is behind without what nobody can place in time', () => {
    store.addReadings([reading(1), reading(2, UNPLACED), reading(3, 'bad-crc')]);
    expect(store.readingsBehind(0)).toBe(2);
    expect(store.readingsBehind(1)).toBe(1);
  });

  it('has readings that were placed later behind those that were sent meanwhile', () => {
    store.addReadings([reading(1), reading(2, UNPLACED), reading(3, UNPLACED)]);
    const passed = store.readingsAfter(0, 9).at(-1)!.id;
    expect(store.readingsBehind(passed)).toBe(0);
    for (const scan of [2, 3]) store.dropUnplaced(board, 1, scan);
    store.addReadings([reading(2), reading(3)]);
    expect(store.readingsBehind(passed)).toBe(2);
  });
});
