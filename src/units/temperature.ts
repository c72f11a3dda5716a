/**
 * Temperatures. A point on the scale and a difference between two points are different types, so that
 * an uncertainty can never be compared with a threshold by mistake.
 */
declare const pointBrand: unique symbol;
declare const differenceBrand: unique symbol;

/** A temperature, degrees Celsius. */
export type Celsius = number & { readonly [pointBrand]: 'Celsius' };

/** A difference between two temperatures (an offset, an uncertainty), degrees Celsius. */
export type CelsiusDifference = number & { readonly [differenceBrand]: 'CelsiusDifference' };

/** Takes a finite number of degrees Celsius as a temperature; anything else is a RangeError. */
export function celsius(degrees: number): Celsius {
  if (!Number.isFinite(degrees))
    throw new RangeError(`a temperature must be a finite number, not ${degrees}`);
  return degrees as Celsius;
}

/** Takes a finite number of degrees Celsius as a difference; anything else is a RangeError. */
export function celsiusDifference(degrees: number): CelsiusDifference {
  if (!Number.isFinite(degrees))
    throw new RangeError(`a temperature difference must be a finite number, not ${degrees}`);
  return degrees as CelsiusDifference;
}

/** The temperature `by` degrees above `point` (below when `by` is negative). */
export function shifted(point: Celsius, by: CelsiusDifference): Celsius {
  return (point + by) as Celsius;
}

/** The number a 12-bit thermometer reports: sixteenths of a degree Celsius, a whole number. */
export function fromSixteenths(sixteenths: number): Celsius {
  return (sixteenths / 16) as Celsius;
}

/** Degrees Fahrenheit, for people who read or type them; nothing inside computes with this. */
export function toFahrenheit(point: Celsius): number {
  return (point * 9) / 5 + 32;
}
