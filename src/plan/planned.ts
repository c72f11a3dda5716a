import type { CarrierId, CupLabel, VisitId, YardCode } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import type { Day, PlannedCup } from './day.js';

/** One cup of a plan that is ready: with its label, its slot and its times. Sheets, labels and commands are made from these. */
export interface ReadyCup extends PlannedCup {
  readonly visit: VisitId;
  readonly yard: YardCode;
  readonly zone: string;
  readonly cup: CupLabel;
  readonly carrier: CarrierId;
  readonly slot: number;
  /** As planned. */
  readonly load: UtcMs;
  readonly from: UtcMs;
  readonly to: UtcMs;
  /** Name and version of the rule set the window is from. */
  readonly rules: string;
}

/** Without the letters that are taken for digits or for each other: I, L, O, U. */
const SIGNS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
const SIGNS_COUNT = 6;
/** So many bytes a code is made of. */
export const CODE_BYTES = SIGNS_COUNT;

/**
 * The part of labels by which those of one plan differ from all others: 30 bits that nobody chose. Two plans for one day
 * have the same once in a thousand million times, whatever vehicle they are for; those of two days never.
 */
export const planCode = (bytes: Uint8Array): string =>
  [...bytes]
    .slice(0, SIGNS_COUNT)
    .map((byte) => SIGNS[byte % SIGNS.length]!)
    .join('');

/**
 * Labels of a plan: day, code, number, as 260513-7KQ2MH-01. A label is for ever, so they are made once and kept in the plan's
 * file. In capitals and digits, so that they are typed on no small letter that is a key, and fit the smallest QR code.
 *
 * @param day YYYY-MM-DD
 */
export function planLabels(day: string, code: string, count: number): CupLabel[] {
  const digits = Math.max(2, String(count).length);
  return Array.from(
    { length: count },
    (_, index) =>
      `${day.slice(2).replaceAll('-', '')}-${code}-${String(index + 1).padStart(digits, '0')}` as CupLabel,
  );
}

/** The cups of a day in the order in which they are loaded, each with a label. */
export const readyCups = (
  { cups }: Day,
  labels: readonly CupLabel[],
  { zone, rules }: { readonly zone: string; readonly rules: string },
): ReadyCup[] =>
  cups.map(({ yard, cup, slot, load, from, to }, index) => ({
    ...cup,
    ...{ visit: yard.visit, yard: yard.yard, zone, cup: labels[index]!, ...slot, load, from, to, rules },
  }));
