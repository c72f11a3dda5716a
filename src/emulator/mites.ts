import type { Chance } from '../units/clock.js';

/**
 * How mites fall in a cup, INVENTED for the demonstration. No published course of the release against
 * temperature was found; the figures below make cold cups drop few mites and warm cups most of theirs, and
 * they prove nothing about a real treatment, a real strip or real mites.
 */
export interface MiteModel {
  /** At and below this air temperature the strip releases nothing, degC (invented). */
  readonly idleCelsius: number;
  /** From this air temperature on it releases in full, degC: brood-warm (invented). */
  readonly fullCelsius: number;
  /** Doses that a susceptible mite takes up per hour at full release; it falls at the second (invented). */
  readonly dosesPerHour: number;
  /** Share of the mites that the active can make fall at all (invented). */
  readonly susceptible: number;
  /** Share of all mites that falls in an hour without any strip (invented). */
  readonly naturalPerHour: number;
  /** Mean mites in a cup (invented; a prescreen picks colonies with more than a few). */
  readonly meanMites: number;
  /** Shape of the gamma spread of that mean between cups, a whole number; smaller spreads more (invented). */
  readonly spread: number;
}

export const MITE_MODEL: MiteModel = {
  idleCelsius: 14,
  fullCelsius: 32,
  dosesPerHour: 2.8,
  susceptible: 0.93,
  naturalPerHour: 0.01,
  meanMites: 12,
  spread: 6,
};

/** How fast the strip releases at an air temperature, from 0 to 1: a smooth step from idle to full. */
export function release(celsius: number, model: MiteModel = MITE_MODEL): number {
  const x = (celsius - model.idleCelsius) / (model.fullCelsius - model.idleCelsius);
  const within = Math.min(Math.max(x, 0), 1);
  return within * within * (3 - 2 * within);
}

/**
 * The chance that a mite falls during an exposure.
 * @param course the cup's air from load to turn, degC, one value every `stepHours`
 */
export function fallChance(
  kind: 'strip' | 'no-strip',
  course: readonly number[],
  stepHours: number,
  model: MiteModel = MITE_MODEL,
): number {
  const natural = 1 - Math.exp(-model.naturalPerHour * stepHours * course.length);
  if (kind === 'no-strip') return natural;
  const fullHours = course.reduce((sum, celsius) => sum + release(celsius, model) * stepHours, 0);
  const doses = model.dosesPerHour * fullHours;
  const treated = model.susceptible * (1 - (1 + doses) * Math.exp(-doses));
  return 1 - (1 - natural) * (1 - treated);
}

/** Mites in one cup: a Poisson count about a gamma-spread mean, that is a negative binomial. */
export function drawMites(chance: Chance, model: MiteModel = MITE_MODEL): number {
  let gamma = 0;
  for (let i = 0; i < model.spread; i += 1) gamma -= Math.log(1 - chance.uniform());
  return drawPoisson((gamma * model.meanMites) / model.spread, chance);
}

/** Each of the mites falls to the tray with the same chance; the others are found in the wash. */
export function drawFall(mites: number, fall: number, chance: Chance): { tray: number; wash: number } {
  let tray = 0;
  for (let i = 0; i < mites; i += 1) if (chance.uniform() < fall) tray += 1;
  return { tray, wash: mites - tray };
}

/** Knuth's product of uniform draws; fit for the small means here. */
function drawPoisson(mean: number, chance: Chance): number {
  const floor = Math.exp(-mean);
  let count = -1;
  for (let product = 1; product >= floor; count += 1) product *= chance.uniform();
  return count;
}
