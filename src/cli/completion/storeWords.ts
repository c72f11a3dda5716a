import { kindOfFile } from '../../store/header.js';
import { openStoreToRead } from '../../store/store.js';
import { type Cup, placeNow } from '../../visit/cup.js';
import { foldSeason, type Season } from '../../visit/season.js';
import { DEFAULT_STORE } from '../context.js';
import type { Candidate, Kind } from './candidates.js';

/** What a store knows of a kind; nothing when there is no store, or it cannot be read. A shell waits for no reason. */
export function storeWords(path: string, kind: Kind): readonly Candidate[] {
  try {
    if (kindOfFile(path) !== 'store') return [];
    const store = openStoreToRead(path);
    try {
      return WORDS[kind](foldSeason(store.facts()));
    } finally {
      store.close();
    }
  } catch {
    return [];
  }
}

/** The store that a command line names. */
export function storeNamed(words: readonly string[]): string {
  const index = words.lastIndexOf('--store');
  return (index === -1 ? undefined : words[index + 1]) ?? DEFAULT_STORE;
}

const WORDS: Readonly<Record<Kind, (season: Season) => Candidate[]>> = {
  visit: ({ visits }) =>
    [...visits.values()].map(({ visit, yard, closed }) => ({
      text: visit,
      about: `yard ${yard}, ${closed === null ? 'open' : 'closed'}`,
    })),
  cup: ({ cups }) => [...cups.values()].map((cup) => ({ text: cup.cup, about: whereIs(cup) })),
  slot: (season) => slotsOf(season).map(({ place, rom }) => ({ text: place, about: rom ?? 'no probe' })),
  carrier: ({ carriers }) => [...carriers.keys()].map((carrier) => ({ text: carrier, about: '' })),
  probe: (season) =>
    slotsOf(season).flatMap(({ place, rom }) => (rom === null ? [] : [{ text: rom, about: place }])),
};

function whereIs(cup: Cup): string {
  const place = placeNow(cup);
  const where =
    cup.turn !== null ? 'turned' : place === null ? 'in no slot' : `in ${place.carrier}:${place.slot}`;
  return cup.colony === null ? where : `colony ${cup.colony}, ${where}`;
}

const slotsOf = ({ carriers }: Season) =>
  [...carriers.values()].flatMap(({ carrier, slots }) =>
    [...slots]
      .sort(([a], [b]) => a - b)
      .map(([slot, probes]) => ({ place: `${carrier}:${slot}`, rom: probes.at(-1)?.rom ?? null })),
  );
