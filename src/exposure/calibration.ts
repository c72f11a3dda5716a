import { Refusal } from '../units/refusal.js';
import { type Celsius, type CelsiusDifference, celsiusDifference } from '../units/temperature.js';
import { MS_PER_SECOND } from '../units/time.js';
import type { Observation } from './types.js';

/** One part of a standard uncertainty, degrees Celsius. */
export interface BudgetTerm {
  readonly name: string;
  readonly standardUncertainty: CelsiusDifference;
}

/** What an ice check found: T = raw - offset. */
export interface IceCheck {
  readonly offset: CelsiusDifference;
  /** Standard uncertainty of a corrected reading: the root of the sum of the squared terms. */
  readonly uncertainty: CelsiusDifference;
  readonly budget: readonly BudgetTerm[];
  readonly readings: number;
  /** Sample standard deviation of the readings that were used. */
  readonly standardDeviation: CelsiusDifference;
}

/** An ice check needs so many readings (j). */
export const ICE_READINGS_MIN = 20;
/** Neighbouring readings are at least so far apart (j): a probe read faster heats itself. */
export const ICE_SPACING_SECONDS = 10;
/** The board's counter and this computer's clock never agree to the millisecond. */
export const ICE_SPACING_MS_MIN = 0.95 * ICE_SPACING_SECONDS * MS_PER_SECOND;
/** A probe that wanders more than this has not settled, or is not in ice (j). */
export const ICE_SPREAD_MAX = 0.05 as CelsiusDifference;
/** A probe further off than this is not used: it is no DS18B20 as its maker specifies it (j). */
export const ICE_OFFSET_MAX = 0.5 as CelsiusDifference;

const STEP = 0.0625;
/** Standard uncertainty of a quantity that lies anywhere within +-`half`: JCGM 100:2008, 4.3.7. */
export const rectangular = (half: number): CelsiusDifference => celsiusDifference(half / Math.sqrt(3));

/** What an ice check in the field leaves uncertain, besides the scatter of its own readings. */
const ICE_BUDGET: readonly BudgetTerm[] = [
  { name: 'ice point of crushed tap-water ice, ±0.1 rectangular (j)', standardUncertainty: rectangular(0.1) },
  { name: 'drift until the next check, ±0.1 rectangular (j)', standardUncertainty: rectangular(0.1) },
  { name: 'self-heating, ±0.1 rectangular (j)', standardUncertainty: rectangular(0.1) },
  { name: 'resolution in ice, one step of 1/16', standardUncertainty: rectangular(STEP / 2) },
  { name: 'resolution in use, one step of 1/16', standardUncertainty: rectangular(STEP / 2) },
];

/**
 * Finds a probe's offset from readings in a mixture of ice and water, which is at 0 degC.
 *
 * @param readings trustworthy and uncorrected, in order of time; readings that follow another by less than 10 s are
 * left out
 * @throws {Refusal} when there are too few, when they wander, or when the probe is too far off
 */
export function iceCheck(readings: readonly Observation[]): IceCheck {
  const used = spaced(readings);
  if (used.length < ICE_READINGS_MIN)
    throw new Refusal(
      `the ice check has ${used.length} readings ${ICE_SPACING_SECONDS} s apart, ${ICE_READINGS_MIN} are needed; leave the probe in the ice for ${waitingMinutes(used.length)} min more`,
    );
  const mean = meanOf(used.map(({ celsius }) => celsius));
  const spread = spreadOf(used.map(({ celsius }) => celsius));
  if (spread > ICE_SPREAD_MAX)
    throw new Refusal(
      `the ice check wanders by ${spread.toFixed(3)} °C (standard deviation), ${ICE_SPREAD_MAX} is allowed; stir, pour off the water, let the probe settle for 3 min and begin again`,
    );
  if (Math.abs(mean) > ICE_OFFSET_MAX)
    throw new Refusal(
      `the probe reads ${mean.toFixed(2)} °C in ice, further off than ${ICE_OFFSET_MAX} °C; look whether there is ice all around it, else replace the probe`,
    );
  const budget = [
    {
      name: `mean of ${used.length} readings, standard deviation over root of their number`,
      standardUncertainty: celsiusDifference(spread / Math.sqrt(used.length)),
    },
    ...ICE_BUDGET,
  ];
  return {
    offset: celsiusDifference(mean),
    uncertainty: combined(budget),
    budget,
    readings: used.length,
    standardDeviation: celsiusDifference(spread),
  };
}

/** A reference temperature and what the probe read there, each with its standard uncertainty. */
export interface ReferencePoint {
  readonly reference: Celsius;
  readonly referenceUncertainty: CelsiusDifference;
  /** Raw mean of the probe. */
  readonly reading: Celsius;
  readonly readingUncertainty: CelsiusDifference;
}

/** A correction that changes with temperature: offset(t) = intercept + slope (t - origin), T = raw - offset(raw). */
export interface CalibrationLine {
  readonly origin: Celsius;
  readonly intercept: CelsiusDifference;
  /** Degrees a degree. */
  readonly slope: number;
  readonly interceptUncertainty: CelsiusDifference;
  readonly slopeUncertainty: number;
  /** Covariance of intercept and slope. */
  readonly covariance: number;
}

/** What a probe reads too much where it reads `raw`, and the standard uncertainty of that. */
export function offsetAt(
  line: CalibrationLine,
  raw: Celsius,
): { readonly offset: CelsiusDifference; readonly uncertainty: CelsiusDifference } {
  const along = raw - line.origin;
  const variance =
    line.interceptUncertainty ** 2 + (along * line.slopeUncertainty) ** 2 + 2 * along * line.covariance;
  return {
    offset: celsiusDifference(line.intercept + line.slope * along),
    uncertainty: celsiusDifference(Math.sqrt(Math.max(0, variance))),
  };
}

/** Points closer than this give no slope worth having (j). */
export const TWO_POINT_SPAN_MIN = 10 as CelsiusDifference;

/**
 * The line through two points, the uncertainties of both references and both readings propagated (JCGM 100:2008, 5.1,
 * inputs uncorrelated). Its origin is the reading at the first point.
 *
 * @throws {Refusal} when the points lie too close together
 */
export function twoPointCalibration(first: ReferencePoint, second: ReferencePoint): CalibrationLine {
  const span = second.reading - first.reading;
  if (Math.abs(span) < TWO_POINT_SPAN_MIN)
    throw new Refusal(
      `the two points lie ${Math.abs(span).toFixed(2)} °C apart, at least ${TWO_POINT_SPAN_MIN} are needed; take ice and a bath near the warmest temperature of use`,
    );
  const [one, two] = [first, second].map((point) => ({
    offset: point.reading - point.reference,
    variance: point.referenceUncertainty ** 2 + point.readingUncertainty ** 2,
  })) as [Point, Point];
  return {
    origin: first.reading,
    intercept: celsiusDifference(one.offset),
    slope: (two.offset - one.offset) / span,
    interceptUncertainty: celsiusDifference(Math.sqrt(one.variance)),
    slopeUncertainty: Math.sqrt(one.variance + two.variance) / Math.abs(span),
    covariance: -one.variance / span,
  };
}

interface Point {
  readonly offset: number;
  readonly variance: number;
}

/** A fitted line with what the scatter of its points says. */
export interface FittedLine extends CalibrationLine {
  /** Residual standard deviation, with `degreesOfFreedom`. */
  readonly standardDeviation: CelsiusDifference;
  readonly degreesOfFreedom: number;
  /** Correlation of intercept and slope. */
  readonly correlation: number;
}

/**
 * The least-squares line through three points or more, its uncertainties from the scatter of the points (JCGM
 * 100:2008, H.3).
 *
 * @param points temperature and offset (what the probe reads too much there)
 * @param origin where the intercept is wanted
 * @throws {Refusal} with fewer than three points, or when all lie at one temperature
 */
export function lineFit(
  points: readonly { readonly celsius: Celsius; readonly offset: CelsiusDifference }[],
  origin: Celsius,
): FittedLine {
  if (points.length < 3)
    throw new Refusal(`a calibration line needs at least 3 points, there are ${points.length}; add points`);
  const centre = meanOf(points.map(({ celsius }) => celsius));
  const level = meanOf(points.map(({ offset }) => offset));
  const squares = sumOf(points, ({ celsius }) => (celsius - centre) ** 2);
  if (squares === 0)
    throw new Refusal(
      `all points of the calibration line lie at ${centre} °C; add points at other temperatures`,
    );
  const slope = sumOf(points, ({ celsius, offset }) => (celsius - centre) * (offset - level)) / squares;
  const degreesOfFreedom = points.length - 2;
  const residuals = sumOf(
    points,
    ({ celsius, offset }) => (offset - level - slope * (celsius - centre)) ** 2,
  );
  const variance = residuals / degreesOfFreedom;
  const reach = centre - origin;
  const interceptVariance = variance * (1 / points.length + reach ** 2 / squares);
  const slopeVariance = variance / squares;
  const covariance = -variance * (reach / squares);
  return {
    origin,
    intercept: celsiusDifference(level - slope * reach),
    slope,
    interceptUncertainty: celsiusDifference(Math.sqrt(interceptVariance)),
    slopeUncertainty: Math.sqrt(slopeVariance),
    covariance,
    standardDeviation: celsiusDifference(Math.sqrt(variance)),
    degreesOfFreedom,
    correlation: -reach / squares / Math.sqrt((1 / points.length + reach ** 2 / squares) * (1 / squares)),
  };
}

/** The root of the sum of the squares of a budget's terms. */
export const combined = (budget: readonly BudgetTerm[]): CelsiusDifference =>
  celsiusDifference(Math.hypot(...budget.map(({ standardUncertainty }) => standardUncertainty)));

function spaced(readings: readonly Observation[]): Observation[] {
  const used: Observation[] = [];
  for (const reading of readings) {
    const last = used.at(-1);
    if (last === undefined || reading.at - last.at >= ICE_SPACING_MS_MIN) used.push(reading);
  }
  return used;
}

const waitingMinutes = (readings: number): number =>
  Math.ceil(((ICE_READINGS_MIN - readings) * ICE_SPACING_SECONDS) / 60);

const sumOf = <T>(all: readonly T[], of: (each: T) => number): number =>
  all.reduce((sum, each) => sum + of(each), 0);

export const meanOf = (values: readonly number[]): number => sumOf(values, (value) => value) / values.length;

/** Sample standard deviation. */
export function spreadOf(values: readonly number[]): number {
  const mean = meanOf(values);
  return Math.sqrt(sumOf(values, (value) => (value - mean) ** 2) / (values.length - 1));
}
