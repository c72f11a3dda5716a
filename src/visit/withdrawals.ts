import type { Fact } from '../store/facts.js';
import type { Records } from '../store/store.js';
import { formatInstant, type UtcMs, utcMs } from '../units/time.js';
import { carrierNames } from './carrierNames.js';
import { restored, type Withdrawn, withdrawnBetween } from './commissioned.js';
import { type Cup, everCounted, exposureEnd } from './cup.js';
import type { Instant } from './cupHistory.js';
import { exposureOf } from './exposures.js';
import { A_NAME, A_REASON, keptWords } from './keptWords.js';
import { foldSeason, type Season } from './season.js';

/** The measurements withdrawn that would else have borne on a cup's ruling, in the order in which they were. */
export function withdrawalsOn(season: Season, cup: Cup, now: UtcMs): readonly Withdrawn[] {
  if (season.commissioned.withdrawn.length === 0) return [];
  const bearing = new Set(
    seatedProbes(season, cup, now).flatMap(({ carrier, probe, from, to }) =>
      withdrawnBetween(season.commissioned, carrier, probe, from, to),
    ),
  );
  return season.commissioned.withdrawn.filter((each) => bearing.has(each));
}

/** Whether mites of a cup had been counted when a measurement was withdrawn. */
const isAfterCounts = (cup: Cup, { seq }: Withdrawn): boolean =>
  everCounted(cup).some((entry) => entry.seq < seq);

/** Those of `withdrawalsOn` that were withdrawn after mites of the cup had been counted. */
export const withdrawnAfterCounts = (season: Season, cup: Cup, now: UtcMs): readonly Withdrawn[] =>
  withdrawalsOn(season, cup, now).filter((each) => isAfterCounts(cup, each));

/** The season as it would bear on a cup if nothing had been withdrawn after its mites were counted. */
export function seasonBeforeCounts(season: Season, cup: Cup, now: UtcMs): Season {
  const late = withdrawnAfterCounts(season, cup, now);
  return late.length === 0 ? season : { ...season, commissioned: restored(season.commissioned, late) };
}

/** What must be said beside a ruling of measurements that were withdrawn. */
export const withdrawalRemarks = (
  store: Records,
  season: Season,
  cup: Cup,
  now: UtcMs,
  instant: Instant = formatInstant,
): string[] =>
  withdrawalsOn(season, cup, now).map((each) => {
    const { measured, why, who, at } = each;
    const what =
      measured.type === 'placement-mapped'
        ? `the map of carrier ${carrierNames(season).carrier(measured.carrier)}`
        : `the ice check of probe ${measured.rom}`;
    return `withdrawn: ${what} made at ${instant(measured.at)}, by ${keptWords(store, who, A_NAME)} at ${instant(at)}, ${isAfterCounts(cup, each) ? 'after' : 'before'} its mites were counted: ${keptWords(store, why, A_REASON)}`;
  });

/**
 * Whether a measurement may be withdrawn: null when it may, else one sentence. Which probe was where must not change
 * once the counts it would bear on are known.
 */
export function withdrawalObjection(
  season: Season,
  fact: Extract<Fact, { type: 'measurement-withdrawn' }>,
  now: UtcMs,
): string | null {
  const measured =
    fact.of === 'probe-assigned'
      ? season.assignments.find(({ seq }) => seq === fact.entry)
      : season.commissioned.bySeq.get(fact.entry);
  if (measured === undefined)
    return `Entry ${fact.entry} is no measurement, or was withdrawn before; look at probe list.`;
  if (fact.at < measured.at)
    return 'A measurement cannot be withdrawn before it was made; give a later time.';
  if (fact.of !== 'probe-assigned') return null;
  const after = foldSeason([{ seq: Number.MAX_SAFE_INTEGER, recorded: now, fact }], season);
  for (const cup of season.cups.values())
    if (cup.wasCounted && probesOver(season, cup, now) !== probesOver(after, cup, now))
      return `Cup ${cup.cup} rode on this and its mites are counted; say with probe assign where the probe is from now on, or set the ruling aside with cup overrule.`;
  return null;
}

const probesOver = (season: Season, cup: Cup, now: UtcMs): string =>
  JSON.stringify(exposureOf(season, cup, now).seatings.map(({ probe, from, to }) => [probe, from, to]));

/** Which probe a cup had when, and in which carrier. */
function seatedProbes(season: Season, cup: Cup, now: UtcMs) {
  const over = exposureEnd(cup) ?? now;
  return cup.places.flatMap(({ carrier, slot, from, to }) => {
    const history = season.carriers.get(carrier)?.slots.get(slot) ?? [];
    const end = utcMs(Math.min(to ?? over, over));
    return history.flatMap((each, index) => {
      const start = utcMs(Math.max(from, each.from));
      const stop = utcMs(Math.min(end, history[index + 1]?.from ?? end));
      return each.rom === null || stop <= start ? [] : [{ carrier, probe: each.rom, from: start, to: stop }];
    });
  });
}
