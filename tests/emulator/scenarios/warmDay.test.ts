import { describe, expect, test } from 'vitest';
import { morning } from '../../../src/emulator/scenarios/morning.js';
import { WARM_DAY } from '../../../src/emulator/scenarios/warmDay.js';
import { DEFAULT_RULES } from '../../../src/exposure/ruleSet.js';
import { UNCORRECTED } from '../../../src/exposure/uncertainty.js';
import { later, seconds } from '../../../src/units/time.js';
import { actionsOn, cupsOf, playFlawlessly } from './flawless.js';

const scenario = morning(WARM_DAY);

describe('WARM_DAY', () => {
  test('never brings a cup near either limit', () => {
    const vehicle = scenario.vehicle();
    for (const cup of cupsOf(scenario)) {
      const { load, turn } = actionsOn(scenario, cup);
      for (let at = load.at; at < turn.at; at = later(at, seconds(30))) {
        const air = vehicle.cup(cup, at);
        expect(air).toBeGreaterThan(DEFAULT_RULES.thresholdCelsius + UNCORRECTED + 0.5);
        expect(air).toBeLessThan(DEFAULT_RULES.hotWarningCelsius - UNCORRECTED - 0.5);
      }
    }
  });

  // 10 s with a host and 20 s alone: the carrier's two periods of scans
  test.each([10, 20])('is ruled valid throughout, the loose lead included, read every %d s', (period) => {
    const { rulings } = playFlawlessly(scenario, period);
    expect(rulings.filter(({ ruling }) => ruling !== 'valid')).toEqual([]);
    expect(rulings.every(({ coldMinutes }) => coldMinutes.certain === 0)).toBe(true);
  });

  test('gives both yards the verdict above the line, the same with every cup', () => {
    for (const yard of playFlawlessly(scenario).yards) {
      expect(yard.verdict).toBe('above-line');
      expect(yard.allCups).toEqual({
        efficacy: yard.efficacy,
        interval: yard.interval,
        verdict: yard.verdict,
      });
      expect(yard.cups).toMatchObject({ valid: 9, excluded: 0, unread: 0, empty: 0 });
    }
  });
});
