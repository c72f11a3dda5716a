import { HOST_WITHIN } from '../exposure/bootPlacement.js';
import { DEFAULT_RULES } from '../exposure/ruleSet.js';
import { trustworthy } from '../exposure/trustworthy.js';
import { HOUR_MS } from '../store/block.js';
import { UNPLACED } from '../store/logShelf.js';
import type { Store, StoredReading } from '../store/store.js';
import type { RomId } from '../units/ids.js';
import { type Celsius, type CelsiusDifference, fromSixteenths } from '../units/temperature.js';
import { MS_PER_SECOND, type UtcMs, utcMs } from '../units/time.js';
import { inForce } from '../visit/commissioned.js';
import type { Season } from '../visit/season.js';
import { type SlotOf, stretchesOf } from '../visit/stretches.js';

/** One reading as it is exported: what was read, and all that is needed to judge the series again. */
export interface ExportRow {
  /** The id of the store that recorded it. */
  readonly store: string;
  readonly reading: StoredReading;
  /** How far its true time may lie from the stated one, either way, milliseconds; null when nothing proves the time. */
  readonly within: number | null;
  /** Less the offset that was known then; null without a value. */
  readonly celsius: Celsius | null;
  /** What the probe was known to read too much then; null when nobody had checked it in ice. */
  readonly offset: CelsiusDifference | null;
  /** Whether a ruling may use it. */
  readonly isUsed: boolean;
  /** Seconds since the used reading of this probe before it, when they are more than the default rule set's `maxGapSeconds`. */
  readonly gapSeconds: number | null;
  /** Where the probe sat then; null when nobody said. */
  readonly place: SlotOf | null;
}

/** Which readings: both instants are part of the span. */
export interface Selection {
  readonly from: UtcMs;
  readonly to: UtcMs;
  /** Null for all probes there are. */
  readonly probes: readonly RomId[] | null;
  /** Readings of probes that sat in one of these places; null for all, also of probes that sat nowhere. */
  readonly isWanted: ((place: SlotOf) => boolean) | null;
}

/** Part of a series: what one probe read in one hour, in order of time. */
export interface Part {
  readonly rows: readonly ExportRow[];
  /** Sealed blocks of that hour that cannot be read. */
  readonly unreadableBlocks: number;
  /** How far it is then, from 0 to 1. */
  readonly done: number;
}

/**
 * The readings of a selection, this store's and gathered ones, probe by probe, each in order of time, an hour at a time, so that memory does not grow
 * with them. Readings that arrive while it goes on are left out: all is as it was when it began.
 */
export function* seriesOf(store: Store, season: Season, selection: Selection): Generator<Part> {
  const { from, to, isWanted } = selection;
  const own = store.storeId();
  const newest = store.newestReading()?.id ?? 0;
  const withinOf = timePrecision(store);
  const stretches = (selection.probes ?? store.probes()).flatMap((rom) =>
    stretchesOf(season, rom, from, to)
      .filter(({ place }) => isWanted === null || (place !== null && isWanted(place)))
      .map((stretch) => ({ rom, ...stretch })),
  );
  const planned = stretches.map((stretch) => store.hours(stretch.rom, stretch.from, stretch.to));
  const total = planned.flat().reduce((sum, { readings }) => sum + readings, 0);
  let done = 0;
  let rom: RomId | null = null;
  let lastUsed: UtcMs | null = null;
  for (const [index, stretch] of stretches.entries()) {
    if (stretch.rom !== rom) lastUsed = null;
    rom = stretch.rom;
    const checks = season.commissioned.ice.get(rom);
    for (const { hour, readings } of planned[index]!) {
      const rows: ExportRow[] = [];
      const first = utcMs(Math.max(hour, stretch.from));
      const last = utcMs(Math.min(hour + HOUR_MS - 1, stretch.to));
      for (const { store: recorder, reading } of store.provenReadings(rom, hour)) {
        const { utc, raw, status } = reading;
        if (utc < first || utc > last || (recorder === own && reading.id > newest)) continue;
        const offset = checks === undefined ? null : (inForce(checks, utc)?.offset ?? null);
        const isUsed = typeof trustworthy(status, raw) === 'number';
        const since: number | null = lastUsed === null ? null : utc - lastUsed;
        rows.push({
          store: recorder,
          reading,
          within: withinOf(reading),
          celsius: raw === null ? null : ((fromSixteenths(raw) - (offset ?? 0)) as Celsius),
          offset,
          isUsed,
          gapSeconds: isUsed && since !== null && since > GAP_MS ? since / MS_PER_SECOND : null,
          place: stretch.place,
        });
        if (isUsed) lastUsed = utc;
      }
      done += readings;
      yield { rows, unreadableBlocks: store.unreadableBlocks(rom, hour), done: done / total };
    }
  }
}

const GAP_MS = DEFAULT_RULES.maxGapSeconds * MS_PER_SECOND;

/** How well the stated time of a reading is known: by the host that heard it, or by what proved a boot that was read from a log. */
function timePrecision(store: Store): (reading: StoredReading) => number | null {
  const boots = new Map<string, number>();
  for (const { fact } of store.everyFact())
    if (fact.type === 'boot-read' && fact.withinMs !== null)
      boots.set(`${fact.board} ${fact.boot}`, Math.max(fact.withinMs, HOST_WITHIN));
  if (boots.size === 0) return ({ status }) => (status === UNPLACED ? null : HOST_WITHIN);
  return ({ status, board, boot }) =>
    status === UNPLACED ? null : (boots.get(`${board} ${boot}`) ?? HOST_WITHIN);
}
