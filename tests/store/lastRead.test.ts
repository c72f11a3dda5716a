import { afterEach, beforeEach, expect, it } from 'vitest';
import { utcMs } from '../../src/units/time.js';
import { at, reading, storeInFolder } from '../screen/invented.js';

let folder: ReturnType<typeof storeInFolder>;
beforeEach(() => {
  folder = storeInFolder();
});
afterEach(() => folder.remove());

const minutesOf = () => folder.store.lastReadings().map(({ board, utc }) => [board, (utc - at(0)) / 60_000]);
const add = (...rows: ReturnType<typeof reading>[]) =>
  folder.store.transaction(() => folder.store.addReadings(rows));
const seal = () => {
  while (folder.store.sealOldest(at(600), Number.MAX_SAFE_INTEGER, at(600)) !== null);
};

it('lastReadings() gives each probe its last reading, fresh or sealed, whatever it was worth', () => {
  expect(minutesOf()).toEqual([]);
  add(reading('A', 1, 5, 20), reading('A', 1, 130, 0, 'bad-crc'), reading('B', 1, 70, 20));
  const before = minutesOf();
  expect(before).toEqual([
    ['0A1B2C3D', 130],
    ['0A1B2C3E', 70],
  ]);
  seal();
  expect(minutesOf()).toEqual(before);
  // One that came late does not count as the last; a newer one does.
  add(reading('A', 1, 60, 20), reading('B', 1, 71, 20));
  expect(minutesOf()).toEqual([
    ['0A1B2C3D', 130],
    ['0A1B2C3E', 71],
  ]);
});

it('lastReadings() passes over what nobody can place in time, also whole sealed hours of it', () => {
  add(reading('A', 1, 5, 20));
  const unplaced = [200, 201].map((minute) => reading('A', 1, minute, 0, 'unplaced'));
  add(...unplaced);
  expect(minutesOf()).toEqual([['0A1B2C3D', 5]]);
  seal();
  expect(minutesOf()).toEqual([['0A1B2C3D', 5]]);
  // Negative control: placed, the same readings are the last.
  add(reading('A', 1, 202, 20));
  expect(minutesOf()).toEqual([['0A1B2C3D', 202]]);
  expect(folder.store.newestReading()!.utc).toBe(utcMs(at(202)));
});
