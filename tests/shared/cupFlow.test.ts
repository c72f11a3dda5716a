import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cupFlow, type FlowCup, RULINGS } from '../../shared/index.js';
import { noStrip, strip } from './reference.js';

describe('cupFlow()', () => {
  it('puts each strip cup in one place', () => {
    const cups: FlowCup[] = [
      strip(7, 3),
      strip(5, 5),
      strip(0, 0),
      strip(null, 4),
      strip(3, 3, { ruling: 'cold' }),
      strip(null, null, { ruling: 'cold' }),
      strip(3, 3, { ruling: 'hot' }),
      { ...strip(3, 3, { ruling: 'cold' }), replaced: true },
      noStrip(1, 9),
    ];
    expect(cupFlow(cups, 10)).toEqual({
      planned: 10,
      loaded: 8,
      replaced: 1,
      ruledOut: { cold: 2, hot: 1, short: 0, long: 0, unproven: 0, spoiled: 0 },
      unread: 1,
      miteFree: 1,
      used: 2,
      withoutStrip: 1,
    });
  });

  it('adds up to the cups loaded, whatever they are', () => {
    const count = fc.option(fc.nat({ max: 3 }));
    const cup = fc.record({
      tray: count,
      wash: count,
      ruling: fc.constantFrom(...RULINGS),
      replaced: fc.option(fc.boolean(), { nil: undefined }),
    });
    fc.assert(
      fc.property(fc.array(cup), (cups) => {
        const flow = cupFlow(
          cups.map(({ replaced, tray, wash, ruling }) => ({ ...strip(tray, wash, { ruling }), replaced })),
          null,
        );
        const ruledOut = Object.values(flow.ruledOut).reduce((sum, lost) => sum + lost, 0);
        expect(flow.loaded).toBe(cups.length);
        expect(flow.replaced + ruledOut + flow.unread + flow.miteFree + flow.used).toBe(flow.loaded);
      }),
    );
  });

  it.each([-1, 1.5, Number.NaN])('refuses %d planned cups', (planned) => {
    expect(() => cupFlow([], planned)).toThrow('cups planned');
  });
});
