import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import type { CarrierSource } from '../../src/carrier/source.js';
import type { Store } from '../../src/store/store.js';
import { eachInNewStore } from '../visit/newStore.js';
import { CARRIERS, type Look, longRun, PROBES, START } from './fourCarriers.js';

const HOURS = Number(process.env['STILLWARM_HOURS'] ?? 0.25);
/** The looks: after the start has settled, halfway, and at the end, as 5, 15 and 30 are of 30 hours. */
const LOOKS = [HOURS / 6, HOURS / 2, HOURS];
/** What a logger may keep more at the end than at the first look: page numbers, boots, a little of the engine's own. */
const GROWTH_MAX_MIB = 2;

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
}, START);

const grown = (looks: readonly Look[]) => looks.at(-1)!.heapMiB - looks[0]!.heapMiB;

describe('runLogger() with four carriers', () => {
  it(`keeps no more at the end of ${HOURS} h than at the beginning, and all readings`, async () => {
    const looks = await longRun(store, LOOKS);
    expect(grown(looks)).toBeLessThan(GROWTH_MAX_MIB);
    // A scan of each carrier every ten seconds; the first ones come when the boards have found their probes.
    const expected = CARRIERS.length * PROBES * HOURS * 360;
    expect(looks.at(-1)!.readings).toBeGreaterThan(expected - CARRIERS.length * PROBES * 3);
    expect(looks.at(-1)!.readings).toBeLessThanOrEqual(expected);
    expect(store.brokenAt()).toBeNull();
    expect(store.discards()).toEqual([]);
  }, 3_600_000);

  // Negative control: whoever keeps what was heard is found out.
  it('is found out when it keeps every event', async () => {
    const kept: CarrierEvent[] = [];
    const leaking = (source: CarrierSource): CarrierSource => ({
      ...source,
      run: (onEvent, signal) =>
        source.run((event) => {
          kept.push(event, ...Array.from({ length: 20 }, () => ({ ...event })));
          onEvent(event);
        }, signal),
    });
    expect(grown(await longRun(store, LOOKS, leaking))).toBeGreaterThan(GROWTH_MAX_MIB);
    expect(kept.length).toBeGreaterThan(0);
  }, 3_600_000);
});
