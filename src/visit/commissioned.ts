import {
  NEVER_CERTAIN,
  ruledUncertainty,
  U_PLACEMENT_UNMAPPED,
  U_PROBE_UNCORRECTED,
  UNCORRECTED,
} from '../exposure/uncertainty.js';
import type { Fact, RecordedFact } from '../store/facts.js';
import { type BoardId, type CarrierId, isUsualRom, type RomId } from '../units/ids.js';
import { type CelsiusDifference, celsiusDifference } from '../units/temperature.js';
import { between, minutes, type UtcMs } from '../units/time.js';
import { inZone } from '../units/zone.js';

export type IceChecked = Extract<Fact, { type: 'ice-checked' }>;
export type PlacementMapped = Extract<Fact, { type: 'placement-mapped' }>;
export type LagMeasured = Extract<Fact, { type: 'lag-measured' }>;

type Measured = IceChecked | PlacementMapped | LagMeasured;

/** A measurement that a person withdrew. References of texts for `why` and `who`. */
export interface Withdrawn {
  /** The number of the fact that took it back. */
  readonly seq: number;
  readonly measured: Measured;
  readonly why: string;
  readonly who: string;
  readonly at: UtcMs;
}

/** What was measured of probes and carriers on the bench, each in order of time. */
export interface Commissioned {
  readonly ice: ReadonlyMap<RomId, readonly IceChecked[]>;
  readonly lags: ReadonlyMap<RomId, readonly LagMeasured[]>;
  readonly maps: ReadonlyMap<CarrierId, readonly PlacementMapped[]>;
  /** What sources told of probes that are no DS18B20; only changes. */
  readonly stated: ReadonlyMap<RomId, readonly StatedUncertainty[]>;
  /** What counts of it, by the number of its fact. */
  readonly bySeq: ReadonlyMap<number, Measured>;
  /** What was withdrawn, in the order in which it was. */
  readonly withdrawn: readonly Withdrawn[];
}

/** The standard uncertainty of a probe as its source knows it. */
export interface StatedUncertainty {
  readonly uncertainty: CelsiusDifference;
  readonly at: UtcMs;
}

export const NOT_COMMISSIONED: Commissioned = {
  ice: new Map(),
  lags: new Map(),
  maps: new Map(),
  stated: new Map(),
  bySeq: new Map(),
  withdrawn: [],
};

/** An ice check is repeated once a year (common practice, no source). */
export const ICE_AGE_MAX = minutes(366 * 24 * 60);

/** Takes one more fact in. */
export function commissionedBy(
  known: Commissioned,
  { seq, fact }: Pick<RecordedFact, 'seq' | 'fact'>,
): Commissioned {
  switch (fact.type) {
    case 'ice-checked':
    case 'lag-measured':
    case 'placement-mapped':
      return { ...withMeasured(known, fact), bySeq: new Map(known.bySeq).set(seq, fact) };
    case 'measurement-withdrawn': {
      const measured = known.bySeq.get(fact.entry);
      if (measured === undefined) return known;
      const { why, who, at } = fact;
      return {
        ...withoutMeasured(known, measured),
        bySeq: new Map([...known.bySeq].filter(([each]) => each !== fact.entry)),
        withdrawn: [...known.withdrawn, { seq, measured, why, who, at }],
      };
    }
    case 'probes-found':
      return withStated(known, fact);
    default:
      return known;
  }
}

function withMeasured(known: Commissioned, fact: Measured): Commissioned {
  switch (fact.type) {
    case 'ice-checked':
      return { ...known, ice: withFact(known.ice, fact.rom, fact) };
    case 'lag-measured':
      return { ...known, lags: withFact(known.lags, fact.rom, fact) };
    case 'placement-mapped':
      return { ...known, maps: withFact(known.maps, fact.carrier, fact) };
  }
}

function withoutMeasured(known: Commissioned, fact: Measured): Commissioned {
  switch (fact.type) {
    case 'ice-checked':
      return { ...known, ice: withoutFact(known.ice, fact.rom, fact) };
    case 'lag-measured':
      return { ...known, lags: withoutFact(known.lags, fact.rom, fact) };
    case 'placement-mapped':
      return { ...known, maps: withoutFact(known.maps, fact.carrier, fact) };
  }
}

/** What would count if these had not been withdrawn. */
export const restored = (known: Commissioned, withdrawn: readonly Withdrawn[]): Commissioned =>
  withdrawn.reduce((each, { measured }) => withMeasured(each, measured), known);

/** What was withdrawn and would else have borne on a probe in a carrier at some time between the two. */
export function withdrawnBetween(
  known: Commissioned,
  carrier: CarrierId,
  rom: RomId,
  from: UtcMs,
  to: UtcMs,
): readonly Withdrawn[] {
  return known.withdrawn.filter(({ measured }) => {
    if (measured.type === 'lag-measured' || measured.at >= to) return false;
    if (measured.type === 'ice-checked' ? measured.rom !== rom : measured.carrier !== carrier) return false;
    const others: readonly Measured[] =
      (measured.type === 'ice-checked' ? known.ice.get(rom) : known.maps.get(carrier)) ?? [];
    return !others.some(({ at }) => at >= measured.at && at <= from);
  });
}

function withStated(
  known: Commissioned,
  { probes, at }: Extract<Fact, { type: 'probes-found' }>,
): Commissioned {
  let { stated } = known;
  for (const { rom, uncertainty } of probes)
    if (uncertainty !== undefined && stated.get(rom)?.at(-1)?.uncertainty !== uncertainty)
      stated = withFact(stated, rom, { uncertainty, at });
  return stated === known.stated ? known : { ...known, stated };
}

function withFact<Key, Each extends { readonly at: UtcMs }>(
  all: ReadonlyMap<Key, readonly Each[]>,
  key: Key,
  fact: Each,
): ReadonlyMap<Key, readonly Each[]> {
  const before = all.get(key) ?? [];
  return new Map(all).set(
    key,
    [...before, fact].sort((a, b) => a.at - b.at),
  );
}

function withoutFact<Key, Each>(
  all: ReadonlyMap<Key, readonly Each[]>,
  key: Key,
  fact: Each,
): ReadonlyMap<Key, readonly Each[]> {
  const left = (all.get(key) ?? []).filter((each) => each !== fact);
  const others = new Map([...all].filter(([each]) => each !== key));
  return left.length === 0 ? others : others.set(key, left);
}

/** The one of a list, in order of time, that was in force at `at`. */
export const inForce = <Each extends { readonly at: UtcMs }>(
  all: readonly Each[] | undefined,
  at: UtcMs,
): Each | null => all?.findLast((each) => each.at <= at) ?? null;

/** What a probe reads too much at that time, as far as is known: 0 until it has been in ice. */
export const offsetOf = ({ ice }: Commissioned, rom: RomId, at: UtcMs): CelsiusDifference =>
  inForce(ice.get(rom), at)?.offset ?? celsiusDifference(0);

/** U (k = 2) of a probe in a slot of a carrier at that time. */
export function uncertaintyOf(
  known: Commissioned,
  carrier: CarrierId,
  rom: RomId,
  at: UtcMs,
): CelsiusDifference {
  const check = inForce(known.ice.get(rom), at);
  const stated = statedFor(known, rom, at);
  if (check === null && stated === null && !isUsualRom(rom)) return NEVER_CERTAIN;
  const map = inForce(known.maps.get(carrier), at);
  if (check === null && stated === null && map === null) return UNCORRECTED;
  // Ice proves the offset of such a probe at 0 degC; what its reference or its curve does elsewhere it does not.
  const measured = check?.uncertainty ?? U_PROBE_UNCORRECTED;
  const probe = stated === null ? measured : celsiusDifference(Math.max(stated, check?.uncertainty ?? 0));
  return ruledUncertainty(probe, map?.uncertainty ?? U_PLACEMENT_UNMAPPED);
}

/** What a source told of a probe: what it told first counts for the time before, too. */
function statedFor({ stated }: Commissioned, rom: RomId, at: UtcMs): CelsiusDifference | null {
  const all = stated.get(rom);
  return (inForce(all, at) ?? all?.[0])?.uncertainty ?? null;
}

/** The times, between two, from which a probe in a carrier is known otherwise than before. */
export function changesBetween(
  { ice, maps, stated }: Commissioned,
  carrier: CarrierId,
  rom: RomId,
  from: UtcMs,
  to: UtcMs,
): UtcMs[] {
  const changed = [...(ice.get(rom) ?? []), ...(maps.get(carrier) ?? []), ...(stated.get(rom) ?? [])];
  const times = changed.map(({ at }) => at);
  return [...new Set(times)].filter((at) => at > from && at < to).sort((a, b) => a - b);
}

/**
 * What a person should know of a probe's ice check before trusting it at that time, each in words.
 *
 * @param board the one that reads the probe now, null when that is not known
 */
export function iceCautions(
  { ice, stated }: Commissioned,
  rom: RomId,
  board: BoardId | null,
  at: UtcMs,
): string[] {
  const check = inForce(ice.get(rom), at);
  if (check === null)
    return isUsualRom(rom) || stated.has(rom)
      ? []
      : ['its ROM id is unlike the maker’s, perhaps a clone: certain of nothing until it has been in ice'];
  return [
    ...(between(check.at, at) > ICE_AGE_MAX
      ? [`its ice check of ${inZone(check.at, 'UTC').slice(0, 10)} is older than a year`]
      : []),
    ...(board !== null && check.board !== board
      ? [`its ice check was made on another board (${check.board})`]
      : []),
  ];
}
