import { describe, expect, it } from 'vitest';
import { batches } from '../../src/mirror/batches.js';
import { type Fact, factSchema } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import { eachInNewStore } from '../visit/newStore.js';
import { addBacklog, NINE } from './rig.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
}, NINE);

const START = { readings: 0, facts: 0 };
const fact = (of: object): Fact => factSchema.parse({ at: '2026-05-12T09:00:00.000Z', ...of });

describe('batches()', () => {
  it('reads each fact once, and again only what was gone back to', () => {
    for (let each = 1; each <= 4; each += 1)
      store.append(NINE, fact({ type: 'visit-closed', visit: `v${each}` }));
    addBacklog(store, 0, 3);
    let read = 0;
    const counted: Store = {
      ...store,
      facts(after) {
        const facts = store.facts(after);
        read += facts.length;
        return facts;
      },
    };
    const cut = batches(counted);
    const first = cut.next(START, 100)!;
    // The store's first fact and four of ours; none of them is a ruling.
    expect([first.what, first.points.length, first.to.facts, read]).toEqual(['rulings', 0, 5, 5]);
    const second = cut.next(first.to, 100)!;
    expect([second.what, second.points.length, read]).toEqual(['readings', 36, 5]);
    store.append(NINE, fact({ type: 'visit-closed', visit: 'v5' }));
    expect(cut.next(second.to, 100)).toMatchObject({ what: 'rulings', first: 6, last: 6 });
    expect(read).toBe(6);
    // What was sent was not acknowledged in the end.
    expect(cut.next(START, 100)).toMatchObject({ what: 'rulings', first: 1, last: 6 });
    expect(read).toBe(12);
    expect(cut.next(first.to, 100)).toMatchObject({ what: 'rulings', first: 6, last: 6 });
    expect(read).toBe(12);
  });
});
