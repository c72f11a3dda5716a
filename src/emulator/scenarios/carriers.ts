import { type CarrierId, crc8, parseCarrierId, parseRomId, type RomId } from '../../units/ids.js';
import type { ScenarioCarrier } from '../scenario.js';

/** Slots of a carrier, one for each cup of a yard's ten. */
export const SLOTS = 10;

const FAMILY_DS18B20 = 0x28;

/** The ROM id of an invented probe: family, four serial bytes, two zero bytes as genuine parts have, CRC. */
export function inventedRom(serial: readonly [number, number, number, number]): RomId {
  const bytes = [FAMILY_DS18B20, ...serial, 0, 0];
  const pairs = [...bytes, crc8(bytes)].map((byte) => byte.toString(16).toUpperCase().padStart(2, '0'));
  const rom = parseRomId(pairs.join('-'));
  if (!rom) throw new RangeError(`${serial.join(', ')} are not four bytes`);
  return rom;
}

/** The probe in a slot of one of the two carriers that ride in every scenario. */
export function probeIn(carrier: 'A' | 'B', slot: number): RomId {
  const batch = carrier === 'A' ? 0x3a : 0x91;
  // Spread as the serial numbers of one order are: far apart in the low byte, close in the high ones.
  return inventedRom([(slot * 0x4d + batch) & 0xff, (slot * 0x1f) & 0xff, batch, 0x0c]);
}

/** A carrier with a probe in every slot. */
export function carrierOf(
  name: 'A' | 'B',
  faults: ScenarioCarrier['faults'],
): ScenarioCarrier & { readonly carrier: CarrierId } {
  const slots = Array.from({ length: SLOTS }, (_, i) => ({ slot: i + 1, rom: probeIn(name, i + 1) }));
  return { carrier: parseCarrierId(name)!, slots, faults, isAssigned: true };
}
