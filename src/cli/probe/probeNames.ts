import { romId } from '../../store/factFields.js';
import type { RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import type { UtcMs } from '../../units/time.js';
import type { Season } from '../../visit/season.js';
import { probeIn } from '../../visit/slots.js';
import { typedSlot } from '../context.js';

/** The probe a person named by its ROM id or by its slot. */
export function typedProbe(text: string, season: Season, now: UtcMs): RomId {
  const rom = romId.safeParse(text);
  if (rom.success) return rom.data;
  if (!text.includes(':'))
    throw new Refusal(`${text} is neither a probe's ROM id nor a slot as A:4; copy it from probe list.`);
  const { carrier, slot } = typedSlot(text);
  const probe = probeIn(season.carriers.get(carrier), slot, now);
  if (probe === null)
    throw new Refusal(`Slot ${text} has no probe yet; name its ROM id, or assign it with probe warm.`);
  return probe;
}

/** The slot of a probe as `A:4`; its ROM id while it has none. */
export function nameOf(season: Season, rom: RomId, now: UtcMs): string {
  for (const carrier of season.carriers.values())
    for (const slot of carrier.slots.keys())
      if (probeIn(carrier, slot, now) === rom) return `${carrier.carrier}:${slot}`;
  return rom;
}

/** In the order in which people count slots. */
export const byName = (a: string, b: string): number => a.localeCompare(b, 'en', { numeric: true });
