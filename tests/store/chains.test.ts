import { describe, expect, it } from 'vitest';
import {
  type Chain,
  carrierAndStore,
  chainOfNumber,
  factName,
  mergedFacts,
  numberedIn,
  seqOfNumber,
  toOwnChain,
} from '../../src/store/chains.js';
import type { Fact } from '../../src/store/facts.js';
import { utcMs } from '../../src/units/time.js';
import { assigns, counts, loads, minute, opens, recorded, turns } from '../visit/situation.js';

const [VEHICLE, LAB] = ['00000000000000aa', '00000000000000bb'];
const chain = (store: string, number: number, facts: readonly Fact[], late = 0): Chain => ({
  store,
  number,
  facts: recorded(...facts).map((each) => ({ ...each, recorded: utcMs(each.recorded + late) })),
});
const types = (chains: readonly Chain[]) => mergedFacts(chains).map(({ fact }) => fact.type);

describe('mergedFacts()', () => {
  it("gives a store's own facts as they are", () => {
    const own = chain(VEHICLE, 0, [opens, assigns(1)]);
    expect(mergedFacts([own])).toEqual(own.facts);
  });

  it('puts what was recorded first before the rest, whichever chain it is in', () => {
    const vehicle = chain(VEHICLE, 0, [opens, loads('c1', 5), turns('c1', 190)]);
    const lab = chain(LAB, 1, [counts('c1', 240, { tray: 7 })]);
    expect(types([lab, vehicle])).toEqual(['visit-opened', 'cup-loaded', 'cup-turned', 'cup-counted']);
    expect(mergedFacts([lab, vehicle])).toEqual(mergedFacts([vehicle, lab]));
  });

  it('lets nothing come before the load of its cup, though a clock was wrong', () => {
    const vehicle = chain(VEHICLE, 1, [opens, loads('c1', 5), turns('c1', 190)]);
    // A clock that is a day behind.
    const lab = chain(LAB, 2, [counts('c1', 240, { tray: 7 })], -86_400_000);
    expect(types([lab, vehicle])).toEqual(['visit-opened', 'cup-loaded', 'cup-counted', 'cup-turned']);
  });

  it('keeps numbers and carriers of several stores apart', () => {
    const merged = mergedFacts([chain(VEHICLE, 0, [assigns(1)]), chain(LAB, 1, [assigns(1)])]);
    expect(merged.map(({ seq }) => [chainOfNumber(seq), seqOfNumber(seq)])).toEqual([
      [0, 1],
      [1, 1],
    ]);
    expect(merged.map(({ fact }) => fact.type === 'probe-assigned' && carrierAndStore(fact.carrier))).toEqual(
      [
        { carrier: 'A', store: null },
        { carrier: 'A', store: LAB },
      ],
    );
  });
});

describe('toOwnChain()', () => {
  it('names the chain of an entry that stands in another, and mergedFacts() finds it again', () => {
    const withdraws = {
      type: 'measurement-withdrawn',
      of: 'probe-assigned',
      who: 'a'.repeat(64),
      why: 'b'.repeat(64),
    };
    const fact = { ...withdraws, entry: numberedIn(1, 1), at: minute(9) } as unknown as Fact;
    const kept = toOwnChain(fact, () => VEHICLE);
    expect(kept).toMatchObject({ entry: 1, chain: VEHICLE });
    const chains = [chain(LAB, 0, [kept]), chain(VEHICLE, 1, [assigns(1)])];
    expect(mergedFacts(chains).at(-1)!.fact).toEqual(fact);
    // Without that chain it is of no entry at all.
    expect(mergedFacts([chain(LAB, 1, [kept])])[0]!.fact).toMatchObject({ entry: -1 });
  });

  it("leaves a fact of the store's own entries as it is", () => {
    expect(toOwnChain(opens, () => VEHICLE)).toBe(opens);
  });
});

describe('factName()', () => {
  it('is the number alone in the own chain, and short in the others, no two alike', () => {
    expect([numberedIn(0, 31), numberedIn(2, 31), numberedIn(231, 1)].map(factName)).toEqual([
      '31',
      '2.31',
      '231.1',
    ]);
  });
});
