import type { RuleSet } from './ruleSet.js';
import type { WarmUp } from './seatingFold.js';
import type { Bounds, CupRuling, Ruling } from './types.js';

/** The figures a ruling rests on. */
export interface Findings
  extends Pick<
    CupRuling,
    | 'exposureMinutes'
    | 'coldMinutes'
    | 'longestColdSpellMinutes'
    | 'hotMinutes'
    | 'longestHotSpellMinutes'
    | 'minCelsius'
    | 'maxCelsius'
    | 'meanCelsius'
  > {
  readonly spoiled: string | null;
  /** The shortest and the longest exposure that the stated precision of load and turn allows. */
  readonly exposureMinutesLeast: number;
  readonly exposureMinutesMost: number;
  readonly warmUps: readonly WarmUp[];
}

export interface Reason {
  readonly ruling: Exclude<Ruling, 'valid'>;
  /** Begins with the ruling word. */
  readonly sentence: string;
}

/** Every reason that keeps a cup from being valid, in the order of the rulings; none when it is valid. */
export function reasonsFor(findings: Findings, rules: RuleSet): Reason[] {
  const found = [
    spoiledReason(findings),
    durationReason(findings, rules),
    coldReason(findings, rules),
    hotReason(findings, rules),
  ].filter((reason) => reason !== null);
  const decided = found.filter(({ ruling }) => ruling !== 'unproven');
  const open = found.filter(({ ruling }) => ruling === 'unproven');
  return [...decided, ...open];
}

/** What is worth saying and never rules. */
export function remarksFor({ meanCelsius, maxCelsius, warmUps }: Findings, rules: RuleSet): string[] {
  const remarks: string[] = [];
  const { coolMeanCelsius, hotWarningCelsius } = rules;
  if (meanCelsius !== null && meanCelsius < coolMeanCelsius)
    remarks.push(
      `cool: the mean was ${told(meanCelsius, [coolMeanCelsius])} °C, below ${coolMeanCelsius} °C; older published tests ran at 30 °C`,
    );
  if (maxCelsius !== null && maxCelsius > hotWarningCelsius)
    remarks.push(
      `hot warning: the warmest reading was ${told(maxCelsius, [hotWarningCelsius])} °C, above ${hotWarningCelsius} °C`,
    );
  for (const { fromCelsius, minutes, isOver } of warmUps)
    if (isOver)
      remarks.push(
        `probe warming up: in the first ${told(minutes)} min of a seating the readings rose steadily from ${told(fromCelsius)} °C, as they do when a probe was not pre-warmed; the cup itself may have been warm`,
      );
  return remarks;
}

const spoiledReason = ({ spoiled, exposureMinutes }: Findings): Reason | null =>
  spoiled === null
    ? null
    : { ruling: 'spoiled', sentence: `spoiled: ${spoiled} (exposure of ${told(exposureMinutes)} min)` };

function durationReason(findings: Findings, rules: RuleSet): Reason | null {
  const { exposureMinutesLeast: least, exposureMinutesMost: most } = findings;
  const { exposureMinutesMin: min, exposureMinutesMax: max } = rules;
  const exposed =
    least === most
      ? `exposed for ${told(least, [min, max])} min`
      : `exposed for at least ${told(least, [min, max])}, at most ${told(most, [min, max])} min`;
  if (most < min) return { ruling: 'short', sentence: `short: ${exposed}, ${min} are needed` };
  if (least > max) return { ruling: 'long', sentence: `long: ${exposed}, ${max} are allowed` };
  if (least >= min && most <= max) return null;
  return {
    ruling: 'unproven',
    sentence: `unproven: ${exposed} as far as the times of load and turn are known, ${min} to ${max} are allowed`,
  };
}

function coldReason(findings: Findings, rules: RuleSet): Reason | null {
  const { coldMinutes: total, longestColdSpellMinutes: spell, exposureMinutes } = findings;
  const { coldTotalMinutes: totalMax, coldSpellMinutes: spellMax } = rules;
  const minutes =
    `${range(total, totalMax)} min of ${told(exposureMinutes)}, longest spell ${range(spell, spellMax)} min; ` +
    `allowed are ${totalMax} min in total and ${spellMax} min in one spell`;
  if (total.certain > totalMax || spell.certain > spellMax)
    return { ruling: 'cold', sentence: `cold: ${minutes}` };
  if (total.possible <= totalMax && spell.possible <= spellMax) return null;
  return { ruling: 'unproven', sentence: `unproven: cold for ${minutes}` };
}

function hotReason(findings: Findings, rules: RuleSet): Reason | null {
  const { hotMinutes: total, longestHotSpellMinutes: spell, exposureMinutes } = findings;
  const { hotSpellMinutes: spellMax } = rules;
  const minutes =
    `${range(total)} min of ${told(exposureMinutes)}, longest spell ${range(spell, spellMax)} min; ` +
    `allowed are ${spellMax} min in one spell`;
  if (spell.certain > spellMax) return { ruling: 'hot', sentence: `hot: ${minutes}` };
  if (spell.possible <= spellMax) return null;
  return { ruling: 'unproven', sentence: `unproven: hot for ${minutes}` };
}

const range = ({ certain, possible }: Bounds, limit?: number): string => {
  const limits = limit === undefined ? [] : [limit];
  return `at least ${told(certain, limits)}, at most ${told(possible, limits)}`;
};

const DECIMALS_MAX = 9;

/**
 * A figure for people: one decimal, or as many as it takes not to look equal to a limit that it is not equal to
 * (174.99 must not be told as 175).
 */
export function told(value: number, limits: readonly number[] = []): string {
  let decimals = 1;
  const misleads = () => {
    const shown = Number(value.toFixed(decimals));
    return limits.some((limit) => Math.sign(shown - limit) !== Math.sign(value - limit));
  };
  while (decimals < DECIMALS_MAX && misleads()) decimals += 1;
  return String(Number(value.toFixed(decimals)));
}
