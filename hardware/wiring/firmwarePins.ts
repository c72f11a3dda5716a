import { Refusal } from '../../src/units/refusal.js';

/** What the firmware does with a pin, and the names of port and bit in its header. */
const FUNCTIONS = {
  ONEWIRE: ['ONEWIRE_PORT', 'ONEWIRE_BIT'],
  I2C_SDA: ['I2C_PORT', 'I2C_SDA_BIT'],
  I2C_SCL: ['I2C_PORT', 'I2C_SCL_BIT'],
  BUTTON: ['BUTTON_PORT', 'BUTTON_BIT'],
  LED: ['LED_PORT', 'LED_BIT'],
  PIEZO: ['PIEZO_PORT', 'PIEZO_BIT'],
} as const;

export type PinFunction = keyof typeof FUNCTIONS;
export type FirmwarePins = Readonly<Record<PinFunction, string>>;

/**
 * The pins a chip header of the firmware names, such as `{ ONEWIRE: 'PD2', ... }`.
 *
 * @throws {Refusal} when the header lacks one
 */
export function readFirmwarePins(header: string, file: string): FirmwarePins {
  const defined = new Map(
    [...header.matchAll(/^#define (\w+) (\w+)$/gm)].map(([, name = '', value = '']) => [name, value]),
  );
  const pinOf = ([port, bit]: readonly [string, string]): string => {
    const letter = /^PORT([A-L])$/.exec(defined.get(port) ?? '')?.[1];
    const number = /^[0-7]$/.exec(defined.get(bit) ?? '')?.[0];
    if (!letter || !number)
      throw new Refusal(`${file}: ${port} and ${bit} do not name a pin; define both there`);
    return `P${letter}${number}`;
  };
  return Object.fromEntries(
    Object.entries(FUNCTIONS).map(([name, macros]) => [name, pinOf(macros)]),
  ) as FirmwarePins;
}
