import { expect, it } from 'vitest';
import { CHIP_V_LEAST, powerBudget, RAIL_V } from '../../../hardware/wiring/powerBudget.js';

it('`powerBudget()` reckons watts and hours', () => {
  const { milliamperes, watts, hours } = powerBudget(10);
  // By hand: 30 + 10 x 1 x 0.75 / 20 + 0.1 + 0.2 + 0.1 = 30.775; 50 + 15 + 5 + 0.3 + 6 + 5 = 81.3.
  expect(milliamperes.usual).toBeCloseTo(30.775, 9);
  expect(milliamperes.most).toBeCloseTo(81.3, 9);
  expect(watts.usual).toBeCloseTo(0.153875, 9); // 5 V x 30.775 mA
  expect(hours[0]?.hours).toBeCloseTo((9.6 * 0.75) / 0.153875, 6); // the formula of powerBudget.ts
});

it('the supply behind the diode is enough for the chip', () => {
  expect(CHIP_V_LEAST).toBeCloseTo(3.78, 9); // straight line between the two points named in powerBudget.ts
  expect(RAIL_V.least).toBeGreaterThan(CHIP_V_LEAST);
});
