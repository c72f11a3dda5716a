import { z } from 'zod';
import { Refusal } from '../units/refusal.js';
import type { Celsius } from '../units/temperature.js';

/**
 * What a ruling and a verdict rest on. No figure here is a published limit: (p) is common practice without a
 * source, (j) is judgement. Temperatures in degrees Celsius, durations in the unit of their name.
 */
export interface RuleSet {
  readonly name: string;
  readonly version: number | string;
  /** Activation threshold: below it the strip releases too little. 60 degF (p). */
  readonly thresholdCelsius: Celsius;
  /** A cup is cold above this many minutes below the threshold in total (j). */
  readonly coldTotalMinutes: number;
  /** A cup is cold above this many minutes below the threshold in one spell (j). */
  readonly coldSpellMinutes: number;
  /** A reading above this is remarked on (j). */
  readonly hotWarningCelsius: Celsius;
  /** Above this a cup is too warm (j). */
  readonly hotCelsius: Celsius;
  /** A cup is hot above this many minutes above `hotCelsius` in one spell (j). */
  readonly hotSpellMinutes: number;
  /** From here on the alarm sounds at once (j). */
  readonly hotAlarmCelsius: Celsius;
  /** When a cup is due to be turned (p). */
  readonly exposureMinutes: number;
  /** A shorter exposure is short (j). */
  readonly exposureMinutesMin: number;
  /** A longer exposure is long (j). */
  readonly exposureMinutesMax: number;
  /** Longest time between two neighbouring readings that still counts as observed (j). */
  readonly maxGapSeconds: number;
  /** An exposure with a lower mean is remarked on as cool (j): older published tests ran at 30. */
  readonly coolMeanCelsius: Celsius;
  /** The efficacy a strip is held against, a fraction (p). */
  readonly line: number;
  /** A verdict needs at least this many cups (j). */
  readonly minCups: number;
  /** A verdict needs at least this many mites that count (j). */
  readonly minMites: number;
  /** Two-sided level of every interval (p). */
  readonly level: number;
}

export const DEFAULT_RULES: RuleSet = {
  name: 'default',
  version: 1,
  thresholdCelsius: (140 / 9) as Celsius,
  coldTotalMinutes: 10,
  coldSpellMinutes: 5,
  hotWarningCelsius: 38 as Celsius,
  hotCelsius: 40 as Celsius,
  hotSpellMinutes: 5,
  hotAlarmCelsius: 45 as Celsius,
  exposureMinutes: 180,
  exposureMinutesMin: 175,
  exposureMinutesMax: 195,
  maxGapSeconds: 60,
  coolMeanCelsius: 25 as Celsius,
  line: 0.7,
  minCups: 5,
  minMites: 20,
  level: 0.95,
};

const text = z.string('write a text in quotes').min(1, 'write at least one letter');
const number = z.number('write a number without quotes');
const temperature = number
  .min(-55, 'write degrees Celsius from -55 to 125')
  .max(125, 'write degrees Celsius from -55 to 125')
  .transform((degrees) => degrees as Celsius);
const minutes = number.min(0, 'write minutes from 0 on');
const fraction = number
  .gt(0, 'write a fraction between 0 and 1, such as 0.7')
  .lt(1, 'write a fraction between 0 and 1, such as 0.7');
const count = number.int('write a whole number').min(1, 'write a whole number from 1 on');

const FILE = z.strictObject({
  name: text,
  version: z.union([text, number], 'write a number or a text in quotes'),
  thresholdCelsius: temperature,
  coldTotalMinutes: minutes,
  coldSpellMinutes: minutes,
  hotWarningCelsius: temperature,
  hotCelsius: temperature,
  hotSpellMinutes: minutes,
  hotAlarmCelsius: temperature,
  exposureMinutes: minutes,
  exposureMinutesMin: minutes,
  exposureMinutesMax: minutes,
  maxGapSeconds: number.gt(0, 'write seconds above 0'),
  coolMeanCelsius: temperature,
  line: fraction,
  minCups: count,
  minMites: count,
  level: fraction,
} satisfies Record<keyof RuleSet, z.ZodType>);

/**
 * Takes what a rule set file holds: the keys it names are changed, the rest is as in `DEFAULT_RULES`.
 *
 * @param where the file, for the refusal
 * @throws {Refusal} naming the file, the key and the cure: not an object, an unknown key, a value of another
 * kind or range, values that contradict each other
 */
export function parseRules(json: unknown, where: string): RuleSet {
  const parsed = FILE.partial().safeParse(json);
  if (!parsed.success) throw new Refusal(`${where}: ${describe(parsed.error.issues[0])}`);
  const given = Object.fromEntries(Object.entries(parsed.data).filter(([, value]) => value !== undefined));
  const rules: RuleSet = { ...DEFAULT_RULES, ...given };
  const contradiction = contradictionIn(rules);
  if (contradiction !== null) throw new Refusal(`${where}: ${contradiction}`);
  return rules;
}

/** The rule set as JSON, its keys in the order of the documents. */
export function rulesToJson(rules: RuleSet): Record<keyof RuleSet, string | number> {
  const keys = Object.keys(DEFAULT_RULES) as (keyof RuleSet)[];
  return Object.fromEntries(keys.map((key) => [key, rules[key]])) as Record<keyof RuleSet, string | number>;
}

function describe(issue: z.core.$ZodIssue | undefined): string {
  if (issue === undefined) return 'not a rule set; write a JSON object';
  if (issue.code === 'unrecognized_keys')
    return `unknown key ${issue.keys.join(', ')}; remove it or rename it, the keys are ${Object.keys(DEFAULT_RULES).join(', ')}`;
  const key = issue.path.join('.');
  return key === ''
    ? 'not a rule set; write a JSON object of keys and values'
    : `key ${key}: ${issue.message}`;
}

function contradictionIn(rules: RuleSet): string | null {
  const { exposureMinutes, exposureMinutesMin, exposureMinutesMax, thresholdCelsius, hotCelsius } = rules;
  if (exposureMinutesMin > exposureMinutesMax)
    return `key exposureMinutesMin: ${exposureMinutesMin} is above exposureMinutesMax ${exposureMinutesMax}; lower one or raise the other`;
  if (exposureMinutes < exposureMinutesMin || exposureMinutes > exposureMinutesMax)
    return `key exposureMinutes: a cup turned when due, after ${exposureMinutes} min, would be ruled out by exposureMinutesMin ${exposureMinutesMin} and exposureMinutesMax ${exposureMinutesMax}; change one of the three`;
  if (thresholdCelsius >= hotCelsius)
    return `key thresholdCelsius: ${thresholdCelsius} is not below hotCelsius ${hotCelsius}; lower one or raise the other`;
  return null;
}
