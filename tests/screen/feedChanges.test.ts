import { beforeEach, describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { type Feed, storeFeed } from '../../src/screen/feed.js';
import { trendText } from '../../src/screen/trend.js';
import type { Fact } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import type { Celsius } from '../../src/units/temperature.js';
import { later, seconds, utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { slotViews } from '../../src/visit/slots.js';
import { iceChecks } from '../visit/situation.js';
import { followedStore, rom } from './followedStore.js';
import { at, lifted, loaded, probeAssigned, reading, readings, seated, visitOpened } from './invented.js';

let store: Store;
let feed: Feed;
const rig = followedStore();
const { add, held, seatOneCup } = rig;
beforeEach(() => {
  ({ store, feed } = rig);
});
const iceChecked = (minute: number, offset: number): Fact => ({
  ...iceChecks(offset, 0, rom),
  at: at(minute),
});

describe('storeFeed() follows what changes in the store', () => {
  it('tells of a cup what is worked out anew from the same readings, late ones, an ice check and a move between them', () => {
    const states = () => feed.slots(at(30)).map(({ cup }) => cup?.state);
    const anew = () => slotViews(feed.season, feed.observationsOf, at(30)).map(({ cup }) => cup?.state);
    const coldMinutes = () => states()[0]!.coldMinutes.certain;
    seatOneCup();
    add(...readings('A', 1, 2, 30, () => 20).filter((_, index) => index % 7 !== 3));
    feed.poll();
    expect(states()).toEqual(anew());
    expect(coldMinutes()).toBe(0);
    add(...readings('A', 1, 2, 30, () => 10).filter((_, index) => index % 7 === 3));
    feed.poll();
    expect(states()).toEqual(anew());
    const asRead = coldMinutes();
    expect(asRead).toBeGreaterThan(1);
    record(store, at(600), () => [iceChecked(3, 8), iceChecked(4, -2)]);
    feed.poll();
    expect(states()).toEqual(anew());
    expect(coldMinutes()).not.toBe(asRead);
    record(store, at(600), () => [
      probeAssigned('A', 2),
      lifted('260512-01', 20),
      seated('260512-01', 'A', 2, 20),
    ]);
    feed.poll();
    expect(states()).toEqual(anew());
    expect(states()[0]).toBeUndefined();
  });

  it('takes back the correction of an ice check that was withdrawn', () => {
    seatOneCup();
    record(store, at(600), () => [iceChecked(0, 8)]);
    add(reading('A', 1, 2, 20), reading('A', 1, 3, 20));
    feed.poll();
    expect(held().map(([, celsius]) => celsius)).toEqual([12, 12]);
    const entry = store.facts().find(({ fact }) => fact.type === 'ice-checked')!.seq;
    const text = 'ab'.repeat(32);
    record(store, at(600), () => [
      { type: 'measurement-withdrawn', entry, of: 'ice-checked', why: text, who: text, at: at(4) },
    ]);
    feed.poll();
    expect(held().map(([, celsius]) => celsius)).toEqual([20, 20]);
  });

  it('shows times that were put right in the store, such as those of the first lines of a boot, a minute later at most', () => {
    seatOneCup();
    const rows = readings('A', 1, 2, 4, (minute) => 20 + minute);
    const late = rows.map((row) => ({ ...row, utc: later(row.utc, seconds(8)) }));
    add(...late);
    feed.poll();
    store.relabel(rows[0]!.board, rows[0]!.boot, rows[0]!.boardMs, utcMs(rows[0]!.utc - rows[0]!.boardMs));
    feed.poll();
    expect(feed.observationsOf(rom)[0]?.at).toBe(late[0]!.utc);
    add(...readings('A', 1, 4.5, 6, (minute) => 20 + minute));
    feed.poll();
    expect(feed.observationsOf(rom).map((o) => o.at)).toEqual(
      [...rows, ...readings('A', 1, 4.5, 6, () => 20)].map(({ utc }) => utc),
    );
  });

  it('knows what a probe read before it was known where it sits', () => {
    record(store, at(600), () => [visitOpened(), loaded('260512-01', 0)]);
    add(reading('A', 1, 2, 27), reading('A', 1, 3, 28));
    feed.poll();
    record(store, at(600), () => [probeAssigned('A', 1), seated('260512-01', 'A', 1, 1)]);
    feed.poll();
    expect(held()).toEqual([
      [2, 27],
      [3, 28],
    ]);
  });

  it('holds what trends show from before the first cup was loaded, opened early or late', () => {
    seatOneCup('260512-01', 20);
    add(...readings('A', 1, 0, 25, () => 20));
    feed.poll();
    const late = storeFeed(store);
    late.poll();
    for (const each of [feed, late]) {
      add(...readings('A', 1, 26, 30, () => 20));
      each.poll();
      expect(trendText(each.observationsOf(rom), at(30), 15, DEFAULT_RULES)).toBe(
        trendText(
          readings('A', 1, 0, 30, () => 20).map(({ utc }) => ({ at: utc, celsius: 20 as Celsius })),
          at(30),
          15,
          DEFAULT_RULES,
        ),
      );
    }
  });

  it('corrects what it holds already when an ice check arrives, from the time of the check on', () => {
    seatOneCup();
    add(reading('A', 1, 2, 27), reading('A', 1, 3, 28), reading('A', 1, 4, 29));
    feed.poll();
    expect(held().map(([, celsius]) => celsius)).toEqual([27, 28, 29]);
    record(store, at(600), () => [iceChecked(3, 0.25)]);
    feed.poll();
    expect(held().map(([, celsius]) => celsius)).toEqual([27, 27.75, 28.75]);
  });
});
