import { describe, expect, it } from 'vitest';
import { budgetOf, busBudget, checkBusBudget, PROVEN_RISE_US } from '../../../hardware/wiring/busBudget.js';
import { BUS_PULL_UP_OHMS } from '../../../hardware/wiring/checks.js';
import { CARRIER, changed } from './files.js';

describe('`busBudget()`', () => {
  it('reckons the rise of a line', () => {
    // By hand: 3 probes, 0.5 + 3 x 0.85 = 3.05 m, 305 + 75 + 30 = 410 pF; 2200 x 410e-12 x ln 2.5 = 0.8265 us.
    const budget = busBudget(3, 2200);
    expect(budget.picofarads).toBeCloseTo(410, 9);
    expect(budget.riseUs).toBeCloseTo(0.8265, 4);
  });

  it('says how much cable is left, so that the rise is just the proven one', () => {
    const { cableM, cableMMost, riseUs, picofarads } = busBudget(10, 2200);
    // The line's rise is in proportion to what hangs on it; 100 pF a metre (busBudget.ts).
    expect(riseUs * (1 + ((cableMMost - cableM) * 100) / picofarads)).toBeCloseTo(PROVEN_RISE_US, 9);
  });
});

describe('`checkBusBudget()`', () => {
  it.each([3, 10, 16])('passes the netlist with %d slots', (slots) => {
    const budget = budgetOf(changed(['slots 10', `slots ${slots}`]));
    expect(budget?.probes).toBe(slots);
    expect(checkBusBudget(budget!)).toEqual([]);
  });

  it('finds ten probes on the datasheet resistor too slow', () => {
    expect(checkBusBudget(busBudget(10, BUS_PULL_UP_OHMS.most))).toEqual([
      'the bus rises in 5.1 us, and the firmware is proven up to 4 us; take a pull-up below 4.7 kOhm, or at most 6.5 m of cable instead of 9.0 m',
    ]);
  });

  it('finds a pull-up that a probe cannot pull low', () => {
    expect(checkBusBudget(busBudget(3, 1000))).toEqual([
      'a pull-up of 1 kOhm gives a probe 4.8 mA to sink, and it is made for 4 mA; take a larger one',
    ]);
    expect(checkBusBudget(busBudget(3, BUS_PULL_UP_OHMS.least))).toEqual([]);
  });
});

it('`budgetOf()` says nothing of a bus with two pull-ups', () => {
  expect(budgetOf(CARRIER)).not.toBeNull();
  expect(budgetOf(changed(['R5.2 LS1.1', 'LS1.1'], ['R1.2 P*.DQ', 'R1.2 R5.2 P*.DQ']))).toBeNull();
});
