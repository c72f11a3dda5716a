import type { RomId } from '../units/ids.js';
import { type UtcMs, utcMs } from '../units/time.js';
import type { Place } from './cup.js';
import type { Season } from './season.js';

/** A slot of a carrier, as people name it. */
export type SlotOf = Pick<Place, 'carrier' | 'slot'>;

/** A stretch of time in which a probe sat in one slot, or in none that is known. Both ends are part of it. */
export interface Stretch {
  readonly from: UtcMs;
  readonly to: UtcMs;
  readonly place: SlotOf | null;
}

/** Where a probe sat from one instant to another, in order and without gaps. */
export function stretchesOf(season: Season, rom: RomId, from: UtcMs, to: UtcMs): Stretch[] {
  const seated = [...season.carriers.values()]
    .flatMap(({ carrier, slots }) =>
      [...slots].flatMap(([slot, history]) =>
        history.flatMap((each, index): Stretch[] => {
          const end = history[index + 1]?.from;
          const last = end === undefined ? to : utcMs(Math.min(end - 1, to));
          const first = utcMs(Math.max(each.from, from));
          return each.rom === rom && first <= last
            ? [{ from: first, to: last, place: { carrier, slot } }]
            : [];
        }),
      ),
    )
    .sort((a, b) => a.from - b.from);
  const all: Stretch[] = [];
  let next = from;
  for (const stretch of seated) {
    if (next < stretch.from) all.push({ from: next, to: utcMs(stretch.from - 1), place: null });
    all.push(stretch);
    next = utcMs(stretch.to + 1);
  }
  if (next <= to) all.push({ from: next, to, place: null });
  return all;
}
