import { formatInstant } from '../units/time.js';
import type { Bounds, CupRuling, Ruling } from './types.js';

/** A cup as `judge --json` prints it; durations in minutes, temperatures in degrees Celsius, times UTC. */
export interface RulingJson {
  readonly cup: string;
  readonly ruling: Ruling;
  readonly reasons: readonly string[];
  readonly exposureMinutes: number;
  readonly observedMinutes: number;
  readonly coldMinutes: Bounds;
  readonly longestColdSpellMinutes: Bounds;
  readonly hotMinutes: Bounds;
  readonly longestHotSpellMinutes: Bounds;
  readonly minCelsius: number | null;
  readonly maxCelsius: number | null;
  readonly meanCelsius: number | null;
  readonly degreeMinutesBelow: number | null;
  readonly gaps: readonly { readonly from: string; readonly to: string }[];
  readonly remarks: readonly string[];
}

/** A ruling in the shape of the command contract, its keys in the contract's order. */
export function rulingToJson(ruling: CupRuling): RulingJson {
  return {
    cup: ruling.cup,
    ruling: ruling.ruling,
    reasons: ruling.reasons,
    exposureMinutes: ruling.exposureMinutes,
    observedMinutes: ruling.observedMinutes,
    coldMinutes: ruling.coldMinutes,
    longestColdSpellMinutes: ruling.longestColdSpellMinutes,
    hotMinutes: ruling.hotMinutes,
    longestHotSpellMinutes: ruling.longestHotSpellMinutes,
    minCelsius: ruling.minCelsius,
    maxCelsius: ruling.maxCelsius,
    meanCelsius: ruling.meanCelsius,
    degreeMinutesBelow: ruling.degreeMinutesBelow,
    gaps: ruling.gaps.map(({ from, to }) => ({ from: formatInstant(from), to: formatInstant(to) })),
    remarks: ruling.remarks,
  };
}
