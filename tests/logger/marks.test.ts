import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { later, MS_PER_MINUTE, minutes } from '../../src/units/time.js';
import { boardDay } from '../../src/visit/boardDay.js';
import { record } from '../../src/visit/record.js';
import { assigns, carrier, inventedRom, OPENED } from '../visit/situation.js';
import { Lockstep } from './lockstep.js';

/** Three probes in cool air; cups of warm bees come to the first and the second while nobody but the board is there. */
const roms = [inventedRom(1), inventedRom(2), inventedRom(3)];
const CAME = [30, 30.6] as const;
/** Presses: with a cup to slot 1, 36 s later with one to slot 2, and an hour later with none. */
const PRESSED = [...CAME, 95];
const temperature = (rom: string, ms: number) => {
  const came = CAME[roms.indexOf(rom as (typeof roms)[number])];
  return came !== undefined && ms >= came * MS_PER_MINUTE ? 31 : 18;
};

describe('marks of a carrier that was alone, read as sync reads them', () => {
  let folder: string;
  let store: Store;
  let marks: ReturnType<typeof boardDay>['marks'];
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'stillwarm-marks-'));
    store = openStoreToWrite(join(folder, 'x.sqlite'), OPENED);
    record(store, OPENED, () => roms.map((rom, index) => assigns(index + 1, rom)));
    const alone = new Lockstep({ start: OPENED, roms, temperature });
    for (const pressed of PRESSED) {
      await alone.run(pressed * MS_PER_MINUTE);
      alone.board.press(true);
      await alone.run(alone.ms + 200);
      alone.board.press(false);
    }
    await alone.run(120 * MS_PER_MINUTE);
    const before = store.head().count;
    const { talk } = alone.plugIn(store, carrier, { reset: true, withOpenPage: true });
    await alone.run(alone.ms + minutes(5), () => talk.isCaughtUp());
    // What the log proves of their times comes with the last page.
    await alone.run(alone.ms + minutes(1));
    marks = boardDay(store, talk.board!, before).marks;
  });
  afterAll(() => {
    store.close();
    rmSync(folder, { recursive: true });
  });

  it('are offered in order, each at its time', () => {
    expect(marks).toHaveLength(PRESSED.length);
    for (const [index, { at, isProven }] of marks.entries()) {
      expect(isProven).toBe(true);
      expect(Math.abs(at - later(OPENED, minutes(PRESSED[index]!)))).toBeLessThan(2000);
    }
  });

  it('come with the slots whose temperature changed course after them', () => {
    // A cup came to slot 2 36 s after the first press: both are offered. At the second, slot 1 was on its way already.
    expect(marks[0]!.steps.map(({ slot }) => slot).sort()).toEqual([1, 2]);
    expect(marks[1]!.steps.map(({ slot }) => slot)).toEqual([2]);
    // 31 - 18
    for (const { steps } of marks.slice(0, 2)) expect(steps[0]!.change).toBeCloseTo(13, 0);
  });

  it('come with no slot when no cup came (negative control)', () => {
    expect(marks[2]!.steps).toEqual([]);
  });

  it('set nothing by themselves', () => {
    expect(store.facts().filter(({ fact }) => fact.type.startsWith('cup-'))).toEqual([]);
  });
});
