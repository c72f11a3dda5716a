import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { GRACE, sealer } from '../../src/logger/sealer.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { durationMs, later, MS_PER_MINUTE } from '../../src/units/time.js';
import { NINE, scans } from '../store/invented.js';
import { eachInNewFolder } from '../tools/newFolder.js';

let folder: string;
let store: Store;
eachInNewFolder((fresh) => {
  folder = fresh;
  store = openStoreToWrite(join(folder, 'store'), NINE);
});
afterEach(() => {
  store.close();
});
const at = (minutes: number) => later(NINE, durationMs(minutes * MS_PER_MINUTE));
/** Six scans a minute, from one minute to before another. */
const arrive = (from: number, to: number) =>
  store.transaction(() => store.addReadings(scans(2, from * 6, to * 6 - 1)));
const sealed = () =>
  store
    .facts()
    .flatMap(({ fact }) =>
      fact.type === 'hour-sealed' ? [[(fact.at - NINE) / MS_PER_MINUTE, fact.supplement]] : [],
    );

describe('look()', () => {
  it('seals an hour ten minutes after its end, while the next one fills', () => {
    const own = sealer(store, expect.unreachable);
    for (let minute = 0; minute < 140; minute += 1) {
      arrive(minute, minute + 1);
      own.look(at(minute + 1));
      expect(sealed(), `${minute}`).toEqual(
        minute + 1 < 60 + GRACE / MS_PER_MINUTE
          ? []
          : minute + 1 < 130
            ? [[0, 0]]
            : [
                [0, 0],
                [60, 0],
              ],
      );
    }
  });

  it('waits until nothing more has come for ten minutes: a log that is read piece by piece needs no supplements', () => {
    const own = sealer(store, expect.unreachable);
    // Three hours of last night, a tenth of an hour a minute.
    for (let minute = 0; minute < 30; minute += 1) {
      arrive(minute * 6, minute * 6 + 6);
      own.look(at(600 + minute));
    }
    for (let minute = 30; minute < 45; minute += 1) own.look(at(600 + minute));
    expect(sealed()).toEqual([
      [0, 0],
      [60, 0],
      [120, 0],
    ]);
  });

  it('begins to wait anew after a restart', () => {
    arrive(0, 60);
    const own = sealer(store, expect.unreachable);
    own.look(at(600));
    own.look(at(609));
    expect(sealed()).toEqual([]);
    own.look(at(610));
    expect(sealed()).toEqual([[0, 0]]);
  });

  it('puts what came late for a sealed hour into a supplement', () => {
    store.transaction(() => store.addReadings(scans(2, 0, 359).filter(({ scan }) => scan % 2 === 0)));
    const own = sealer(store, expect.unreachable);
    for (const minute of [70, 80]) own.look(at(minute));
    arrive(0, 60);
    for (const minute of [90, 100, 101]) own.look(at(minute));
    expect(sealed()).toEqual([
      [0, 0],
      [0, 1],
    ]);
    expect(store.readingCount()).toBe(720);
  });

  it('says once why it cannot seal, leaves the rows, and tries again', () => {
    const said: string[] = [];
    const own = sealer(store, (sentence) => said.push(sentence));
    arrive(0, 60);
    own.look(at(60));
    const sqlite = openSqlite(join(folder, 'store'), 'write');
    sqlite.exec(
      "CREATE TRIGGER broken BEFORE INSERT ON blocks BEGIN SELECT RAISE(ABORT, 'out of order'); END",
    );
    for (let minute = 70; minute < 100; minute += 1) own.look(at(minute));
    expect(said).toEqual(['finished hours of readings are not sealed yet: out of order']);
    expect(store.readingCount()).toBe(720);
    sqlite.exec('DROP TRIGGER broken');
    sqlite.close();
    for (let minute = 100; minute < 120; minute += 1) own.look(at(minute));
    expect(sealed()).toEqual([[0, 0]]);
  });
});
