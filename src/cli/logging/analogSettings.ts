import { z } from 'zod';
import type { AnalogInput } from '../../carrier/stock/analogInputs.js';
import { type AnalogProbe, analogCelsius, analogUncertainty, shareOf } from '../../exposure/analogProbe.js';
import { type SteinhartHart, steinhartHartThrough, type TablePoint } from '../../exposure/thermistor.js';
import { celsius } from '../../units/temperature.js';

/** The part of a source's line that describes a probe on an analog input. */
const CHANNEL_MAX = 15;
const percent = z.number().min(0).max(50);
const ohm = z.number().positive();
/** Ohm and degrees Celsius from the part's table. */
const point = z
  .tuple([ohm, z.number().min(-100).max(300)])
  .transform(([resistance, degrees]): TablePoint => ({ ohm: resistance, celsius: celsius(degrees) }));
const coefficients = z.strictObject({ a: z.number(), b: z.number(), c: z.number() });
const curve = z.union([
  coefficients,
  z
    .tuple([point, point, point])
    .refine(
      (points) => new Set(points.map((each) => each.ohm)).size === 3,
      'needs three different resistances',
    )
    .transform((points): SteinhartHart => steinhartHartThrough(points)),
]);
const channel = z.int().min(0).max(CHANNEL_MAX);

export const analogSchema = z.discriminatedUnion('part', [
  z.strictObject({
    part: z.enum(['TMP36', 'LM35']),
    channel,
    referenceVolts: z.number().min(0.5).max(6).default(5),
    /** A USB supply is 5 % off in earnest; measured with a good meter it is known to half a percent. */
    referencePercent: percent.default(5),
  }),
  z.strictObject({
    part: z.literal('thermistor'),
    channel,
    curve,
    seriesOhm: ohm.default(10_000),
    side: z.enum(['ground', 'supply']).default('ground'),
    thermistorPercent: percent.default(5),
    seriesPercent: percent.default(1),
  }),
]);

/** The probe of such a part, as a stock board reads it. */
export function analogInput({ channel, ...probe }: z.infer<typeof analogSchema>): AnalogInput {
  const part: AnalogProbe = probe;
  return {
    channel,
    toCelsius: (count, bits) => analogCelsius(part, shareOf(count, bits)),
    uncertainty: (bits) => analogUncertainty(part, bits),
  };
}
