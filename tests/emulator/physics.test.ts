import { describe, expect, test } from 'vitest';
import { approach, PHYSICS, relax } from '../../src/emulator/physics.js';

describe('approach()', () => {
  // Step 20 -> 10 degC with a time constant of 300 s. Computed by hand from 10 + 10 exp(-t/300), to 1 mK.
  test.each([
    [60, 18.187],
    [300, 13.679],
    [600, 11.353],
    [900, 10.498],
  ])('after %d s is at %d degC', (elapsed, expected) => {
    expect(approach(20, 10, elapsed, 300)).toBeCloseTo(expected, 3);
  });

  test('in many short steps arrives where one long step does', () => {
    let short = 20;
    for (let step = 0; step < 180; step += 1) short = approach(short, 10, 5, 300);
    expect(short).toBeCloseTo(approach(20, 10, 900, 300), 9);
  });
});

describe('relax()', () => {
  test('stays at the balance of its heat and its neighbours', () => {
    // (2 W + 1 W/K * 10 degC + 3 W/K * 20 degC) / 4 W/K = 18 degC (by hand)
    const neighbours = [
      [1, 10],
      [3, 20],
    ] as const;
    expect(relax(18, 500, 2, neighbours, 5)).toBe(18);
    expect(relax(0, 500, 2, neighbours, 1e6)).toBeCloseTo(18, 9);
  });
});

describe('PHYSICS', () => {
  test('has a probe time constant within what was estimated for a bare sensor and a sleeve in still air', () => {
    // 3 and 5.4 min: computed from an assumed heat transfer of 12 W/(m2 K); no published figure was found
    expect(PHYSICS.probeSeconds).toBeGreaterThanOrEqual(3 * 60);
    expect(PHYSICS.probeSeconds).toBeLessThanOrEqual(5.4 * 60);
  });

  test('keeps probes within the half degree of the DS18B20 datasheet (19-7487 Rev 4)', () => {
    expect(PHYSICS.probeOffsetCelsiusMax + PHYSICS.probeNoiseCelsiusMax).toBeLessThan(0.5);
  });

  test('steps far below every time constant', () => {
    const cabinSeconds =
      PHYSICS.cabinJoulesPerKelvin / (PHYSICS.cabinWattsPerKelvin + PHYSICS.heaterWattsPerKelvin);
    const cupSeconds = PHYSICS.cupJoulesPerKelvin / PHYSICS.cupOutsideWattsPerKelvin;
    expect(Math.min(cabinSeconds, cupSeconds, PHYSICS.probeSeconds)).toBeGreaterThan(
      (10 * PHYSICS.stepMs) / 1000,
    );
  });
});
