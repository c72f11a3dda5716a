import { type CelsiusDifference, celsiusDifference } from '../units/temperature.js';

/**
 * Expanded uncertainty (k = 2) of a cup's temperature from the standard uncertainties of the probe and of its
 * place in the cup's air: U = 2 sqrt(u_probe^2 + u_placement^2).
 */
export function expandedUncertainty(
  probe: CelsiusDifference,
  placement: CelsiusDifference,
): CelsiusDifference {
  return celsiusDifference(2 * Math.hypot(probe, placement));
}

/** The same, rounded up to the thousandth, as rulings use it: a figure that can be printed and typed. */
export const ruledUncertainty = (probe: CelsiusDifference, placement: CelsiusDifference): CelsiusDifference =>
  celsiusDifference(Math.ceil(expandedUncertainty(probe, placement) * 1000 - 1e-9) / 1000);

/**
 * Standard uncertainty of a DS18B20 as bought: +-0.5 rectangular by the maker, one step of 1/16, drift +-0.2 and
 * self-heating +-0.1 rectangular (both j).
 */
export const U_PROBE_UNCORRECTED = 0.317 as CelsiusDifference;
/** Standard uncertainty after an ice check: residual, drift and self-heating +-0.1 each, two steps of 1/16 (j). */
export const U_PROBE_ICE_CHECKED = 0.103 as CelsiusDifference;
/** Standard uncertainty of an unmapped place: +-0.5 rectangular (j). */
export const U_PLACEMENT_UNMAPPED = 0.289 as CelsiusDifference;

/** U of a probe as bought in an unmapped place: 0.8579, fixed at this value, rounded up. */
export const UNCORRECTED = 0.858 as CelsiusDifference;
/** U of an ice-checked probe in an unmapped place: 0.6136, fixed at this value, rounded up. */
export const ICE_CHECKED = 0.614 as CelsiusDifference;
/** U of a suspected clone that was never in ice water: wider than every reading that is ever used. */
export const NEVER_CERTAIN = 200 as CelsiusDifference;
