import { carrierAndStore } from '../store/chains.js';
import type { CarrierId } from '../units/ids.js';
import { slotText } from './cup.js';
import type { Season } from './season.js';

/** How carriers are called where people read: by what is painted on them, and by their store too only where that is not enough. */
export interface CarrierNames {
  readonly carrier: (id: CarrierId) => string;
  readonly slot: (place: { readonly carrier: CarrierId; readonly slot: number }) => string;
}

const known = new WeakMap<Season, CarrierNames>();

/** Names for the carriers of a season; those of two vehicles may have the same one painted on them. */
export function carrierNames(season: Season): CarrierNames {
  const before = known.get(season);
  if (before !== undefined) return before;
  const names = namesIn(season);
  known.set(season, names);
  return names;
}

function namesIn({ carriers, cups }: Season): CarrierNames {
  const all = new Set(carriers.keys());
  for (const { places } of cups.values()) for (const { carrier } of places) all.add(carrier);
  const painted = new Map<string, number>();
  for (const id of all) {
    const { carrier: name } = carrierAndStore(id);
    painted.set(name, (painted.get(name) ?? 0) + 1);
  }
  const carrier = (id: CarrierId): string => {
    const { carrier: name } = carrierAndStore(id);
    return (painted.get(name) ?? 0) > 1 ? id : name;
  };
  return { carrier, slot: (place) => slotText({ carrier: carrier(place.carrier), slot: place.slot }) };
}
