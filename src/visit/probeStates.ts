import { type Rejected, trustworthy } from '../exposure/trustworthy.js';
import type { RecordedFact } from '../store/facts.js';
import type { StoredReading } from '../store/store.js';
import { type BoardId, type CarrierId, isUsualRom, type RomId } from '../units/ids.js';
import type { Celsius, CelsiusDifference } from '../units/temperature.js';
import { between, type DurationMs, type UtcMs } from '../units/time.js';
import { inZone } from '../units/zone.js';
import {
  type Commissioned,
  ICE_AGE_MAX,
  type IceChecked,
  iceCautions,
  inForce,
  type LagMeasured,
  type PlacementMapped,
  uncertaintyOf,
} from './commissioned.js';
import { placeNow, slotText } from './cup.js';
import { prewarmingOf } from './prewarming.js';
import type { Carrier, Season } from './season.js';
import { probeIn } from './slots.js';

/** How far a probe is to be trusted, in a word. */
export type ProbeWord = 'checked' | 'as bought' | 'old check' | 'other board' | 'clone?' | 'no reading';

/** A probe as the commands that list probes show it. */
export interface ProbeState {
  readonly rom: RomId;
  readonly place: { readonly carrier: CarrierId; readonly slot: number } | null;
  readonly board: BoardId | null;
  /** Its latest value, corrected, or why that is none; null when it sent nothing lately. */
  readonly latest: { readonly value: Celsius | Rejected; readonly age: DurationMs } | null;
  readonly word: ProbeWord;
  readonly ice: IceChecked | null;
  readonly lag: LagMeasured | null;
  /** U (k = 2) in its slot; null while it has none. */
  readonly uncertainty: CelsiusDifference | null;
  readonly cautions: readonly string[];
}

export interface CarrierState {
  readonly carrier: CarrierId;
  readonly board: BoardId | null;
  readonly bound: Carrier['bound'];
  readonly map: PlacementMapped | null;
  readonly slots: readonly SlotState[];
  /** For how long its air must have been warm before the first cup, minutes; null until a lag is known. */
  readonly prewarmMinutes: number | null;
}

export interface SlotState {
  readonly slot: number;
  readonly probe: ProbeState | null;
  /** The label of the cup that sits in it. */
  readonly cup: string | null;
}

/** The latest reading of a probe in the last minutes; null when there is none. */
export type LatestOf = (rom: RomId) => StoredReading | null;

/** Every probe that was found, assigned or measured: those in slots first, by slot. */
export function probeStates(
  season: Season,
  facts: readonly RecordedFact[],
  latestOf: LatestOf,
  now: UtcMs,
): ProbeState[] {
  const boards = new Map<RomId, BoardId>();
  for (const { fact } of facts)
    if (fact.type === 'probes-found') for (const { rom } of fact.probes) boards.set(rom, fact.board);
  const places = new Map<RomId, NonNullable<ProbeState['place']>>();
  for (const carrier of season.carriers.values())
    for (const slot of carrier.slots.keys()) {
      const rom = probeIn(carrier, slot, now);
      if (rom !== null) places.set(rom, { carrier: carrier.carrier, slot });
    }
  const { commissioned } = season;
  const roms = new Set([
    ...places.keys(),
    ...boards.keys(),
    ...commissioned.ice.keys(),
    ...commissioned.lags.keys(),
  ]);
  const latest = new Map([...roms].map((rom) => [rom, latestOf(rom)]));
  // Where nothing is read at all, no logger runs: that is no fault of a probe.
  const isAnyHeard = [...latest.values()].some((reading) => reading !== null);
  return [...roms]
    .map((rom) => {
      const state = stateOf(
        season,
        rom,
        places.get(rom) ?? null,
        boards.get(rom) ?? null,
        latest.get(rom)!,
        now,
      );
      return isAnyHeard && state.latest === null ? { ...state, word: 'no reading' as const } : state;
    })
    .sort((a, b) => (placeKey(a) < placeKey(b) ? -1 : 1));
}

const placeKey = ({ place, rom }: ProbeState): string =>
  place === null ? `1 ${rom}` : `0 ${place.carrier}:${String(place.slot).padStart(2, '0')}`;

function stateOf(
  season: Season,
  rom: RomId,
  place: ProbeState['place'],
  readBy: BoardId | null,
  latest: StoredReading | null,
  now: UtcMs,
): ProbeState {
  const known = season.commissioned;
  const ofCarrier = place === null ? null : (season.carriers.get(place.carrier)?.board ?? null);
  const board = latest?.board ?? ofCarrier ?? readBy;
  const ice = inForce(known.ice.get(rom), now);
  return {
    rom,
    place,
    board,
    latest: latest === null ? null : { value: corrected(latest, ice), age: between(latest.utc, now) },
    word: wordFor(ice, rom, board, now, known.stated.has(rom)),
    ice,
    lag: inForce(known.lags.get(rom), now),
    uncertainty: place === null ? null : uncertaintyOf(known, place.carrier, rom, now),
    cautions: [...iceCautions(known, rom, board, now), ...withdrawnCautions(known, rom, ice, now)],
  };
}

/** That its latest ice check was withdrawn: a probe that was checked once is not seen to be as bought by itself. */
function withdrawnCautions(
  { withdrawn }: Commissioned,
  rom: RomId,
  ice: IceChecked | null,
  now: UtcMs,
): string[] {
  const last = withdrawn.findLast(
    ({ measured, at }) => measured.type === 'ice-checked' && measured.rom === rom && at <= now,
  );
  if (last === undefined || (ice !== null && ice.at > last.measured.at)) return [];
  return [`its ice check of ${inZone(last.measured.at, 'UTC').slice(0, 10)} was withdrawn`];
}

function corrected({ status, raw }: StoredReading, ice: IceChecked | null): Celsius | Rejected {
  const value = trustworthy(status, raw);
  return typeof value === 'number' ? ((value - (ice?.offset ?? 0)) as Celsius) : value;
}

function wordFor(
  ice: IceChecked | null,
  rom: RomId,
  board: BoardId | null,
  now: UtcMs,
  isStated: boolean,
): ProbeWord {
  // An analog input has no id of a maker; its source states how exact it is.
  if (ice === null) return isUsualRom(rom) || isStated ? 'as bought' : 'clone?';
  if (between(ice.at, now) > ICE_AGE_MAX) return 'old check';
  return board !== null && ice.board !== board ? 'other board' : 'checked';
}

/** The carriers that are known, each with every slot from 1 to the last that has a probe or a cup. */
export function carrierStates(season: Season, probes: readonly ProbeState[], now: UtcMs): CarrierState[] {
  const seated = new Map<string, string>();
  for (const cup of season.cups.values()) {
    const place = cup.turn === null ? placeNow(cup) : null;
    if (place) seated.set(slotText(place), cup.cup);
  }
  const prewarming = prewarmingOf(season, now);
  return [...season.carriers.values()]
    .sort((a, b) => (a.carrier < b.carrier ? -1 : 1))
    .map(({ carrier, board, bound }) => {
      const here = probes.filter(({ place }) => place?.carrier === carrier);
      const slotsInUse = [...seated.keys()].flatMap((key) =>
        key.startsWith(`${carrier}:`) ? [Number(key.slice(carrier.length + 1))] : [],
      );
      const last = Math.max(0, ...here.map(({ place }) => place!.slot), ...slotsInUse);
      return {
        carrier,
        board,
        bound,
        map: inForce(season.commissioned.maps.get(carrier), now),
        slots: Array.from({ length: last }, (_, index) => ({
          slot: index + 1,
          probe: here.find(({ place }) => place!.slot === index + 1) ?? null,
          cup: seated.get(slotText({ carrier, slot: index + 1 })) ?? null,
        })),
        prewarmMinutes: prewarming.find((each) => each.carrier === carrier)?.minutes ?? null,
      };
    });
}

/** What an ice check and a map leave uncertain of a probe by itself; for a bath. */
export const probeUncertainty = ({ ice }: Commissioned, rom: RomId, at: UtcMs): CelsiusDifference | null =>
  inForce(ice.get(rom), at)?.uncertainty ?? null;
