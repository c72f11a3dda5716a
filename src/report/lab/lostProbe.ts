import type { Fact } from '../../store/facts.js';
import { probeIn } from '../../visit/slots.js';
import type { Material } from './material.js';

export type Warned = Extract<Fact, { type: 'board-warned' }>;

/**
 * A board tells a lost probe by its index in its table, which says nothing to whoever reads a report: the slot that it was
 * in, and the cup of this visit that was there, do. Null when the table is not on record.
 */
export function lostProbe(
  { board, boot, detail, at }: Warned,
  season: Material['season'],
  cups: Material['cups'],
  facts: Material['facts'],
  names: Material['names'],
): { readonly probe: string; readonly held: string } | null {
  const table = facts.findLast(
    ({ fact }) => fact.type === 'probes-found' && fact.board === board && fact.boot === boot && fact.at <= at,
  )?.fact;
  if (table?.type !== 'probes-found') return null;
  const rom = table.probes.find(({ index }) => index === detail)?.rom;
  if (rom === undefined) return null;
  const place = [...season.carriers.values()]
    .filter((carrier) => carrier.board === board)
    .flatMap((carrier) =>
      [...carrier.slots.keys()]
        .filter((slot) => probeIn(carrier, slot, at) === rom)
        .map((slot) => ({ carrier: carrier.carrier, slot })),
    )[0];
  if (place === undefined) return { probe: `probe ${rom}`, held: 'it was in no slot on record' };
  const there = cups.flatMap(({ cup, exposure }) =>
    cup.places.some(
      ({ carrier, slot, from, to }) =>
        carrier === place.carrier && slot === place.slot && from <= at && at <= (to ?? exposure.turn),
    )
      ? [cup.cup]
      : [],
  );
  return {
    probe: `slot ${names.slot(place)}, whose probe is ${rom},`,
    held: there.length === 0 ? 'no cup of this visit was in it then' : `cup ${there.join(' and ')} was in it`,
  };
}
