import { judgeExposure } from '../../src/exposure/judge.js';
import { DEFAULT_RULES, type RuleSet } from '../../src/exposure/ruleSet.js';
import type { CupRuling, Exposure } from '../../src/exposure/types.js';
import type { Celsius } from '../../src/units/temperature.js';
import { exposure, from } from './traces.js';

/** Round figures for hand work: threshold 16, hot above 40, gaps above 60 s. */
export const ROUND: RuleSet = {
  ...DEFAULT_RULES,
  thresholdCelsius: 16 as Celsius,
  coolMeanCelsius: -20 as Celsius,
};

/** Rules on an exposure of 180 min of probe P, unless changed, by round figures. */
export const judge = (
  readings: Parameters<typeof from>[0],
  change: Partial<Exposure> & { readonly turnMinute?: number } = {},
  rules: RuleSet = ROUND,
): CupRuling => judgeExposure(exposure(change.turnMinute ?? 180, change), from(readings), rules);
