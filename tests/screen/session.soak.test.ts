import { beforeAll, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import { later, seconds } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import {
  at,
  label,
  loaded,
  probeAssigned,
  reading,
  SEVEN,
  seated,
  storeInFolder,
  turned,
  visitOpened,
} from './invented.js';
import { sessionOn } from './sessionOn.js';
import { heldBytes } from './soak.js';

const SIZE = { columns: 80, rows: 24 };
const SLOTS = [1, 2];
/** A scan comes this often, minutes. */
const PACE = 0.125;
/** Cups are turned, counted and followed by others after so many scans: 200 minutes. */
const SCANS_OF_A_CUP = 1600;
/** The screen looks after so many scans, as it does while a board's log is read. */
const SCANS_A_LOOK = 8;

const counted = (cup: string, minute: number): Fact => ({
  type: 'cup-counted',
  cup: label(cup),
  at: at(minute),
  tray: 7,
  wash: 3,
  bees: 300,
});

/** What the crew does when one lot of cups is over and the next begins. */
const doings = (lot: number, minute: number): Fact[] =>
  SLOTS.flatMap((slot) => {
    const [old, fresh] = [`L${lot - 1}-${slot}`, `L${lot}-${slot}`];
    const over = lot === 0 ? [] : [turned(old, minute), counted(old, minute)];
    return [...over, loaded(fresh, minute), seated(fresh, 'A', slot, minute)];
  });

/** Warm and cool by turns. */
const degreesAt = (minute: number) => 25 + 4 * Math.sin(minute / 20);

/**
 * Lets a screen follow a store through so many scans, cups coming and going as in a season, and gives by how much
 * what it holds grew after a third of them, bytes a scan.
 *
 * @param seen what somebody does with all that the screen reads
 */
function grownPerScan(scans: number, seen: (readings: readonly object[]) => void = () => {}): number {
  const folder = storeInFolder();
  try {
    const { store } = folder;
    record(store, SEVEN, () => [visitOpened(), ...SLOTS.map((slot) => probeAssigned('A', slot))]);
    const watched: Store = {
      ...store,
      readingsAfter: (id, most) => {
        const readings = store.readingsAfter(id, most);
        seen(readings);
        return readings;
      },
    };
    let now = SEVEN;
    const session = sessionOn(watched, () => now);
    let afterThird = Number.NaN;
    let last = '';
    for (let scan = 0; scan < scans; scan += SCANS_A_LOOK) {
      const minute = scan * PACE;
      now = later(at(minute), seconds(1));
      if (scan % SCANS_OF_A_CUP === 0) record(store, now, () => doings(scan / SCANS_OF_A_CUP, minute));
      const minutes = Array.from({ length: SCANS_A_LOOK }, (_, index) => minute + index * PACE);
      store.transaction(() =>
        store.addReadings(
          minutes.flatMap((each) => SLOTS.map((slot) => reading('A', slot, each, degreesAt(each)))),
        ),
      );
      now = later(at(minutes.at(-1)!), seconds(1));
      session.look();
      last = session
        .lines(SIZE)
        .flat()
        .map(({ text }) => text)
        .join('');
      if (scan + SCANS_A_LOOK === scans / 3) afterThird = heldBytes();
    }
    const grown = (heldBytes() - afterThird) / ((scans * 2) / 3);
    // All scans went through: the last one is on the screen.
    expect(last).toContain('A read 1 s ago');
    return grown;
  } finally {
    folder.remove();
  }
}

/** Bytes: less than any object that is kept for a scan. Cups that are over, with their facts, do stay on record: some 60. */
const GROWTH_MAX = 150;

// Until then the program is being compiled, which takes memory too.
beforeAll(() => void grownPerScan(1.5 * SCANS_OF_A_CUP), 120_000);

it('14,400 scans through a session and its feed keep nothing of a scan', () => {
  expect(grownPerScan(9 * SCANS_OF_A_CUP)).toBeLessThan(GROWTH_MAX);
});

it('would hold more if somebody kept what was read (negative control)', () => {
  const kept: object[] = [];
  expect(
    grownPerScan(3 * SCANS_OF_A_CUP, (readings) => kept.push(...readings.map((each) => ({ ...each })))),
  ).toBeGreaterThan(GROWTH_MAX);
  expect(kept.length).toBeGreaterThan(2.95 * SCANS_OF_A_CUP * SLOTS.length);
});
