import { liveState } from '../exposure/live.js';
import type { CupRuling, Observation } from '../exposure/types.js';
import type { Store } from '../store/store.js';
import type { CupLabel, RomId } from '../units/ids.js';
import { type MonotonicMs, seconds, type UtcMs } from '../units/time.js';
import { carrierNames } from '../visit/carrierNames.js';
import { type Cup, isExposed } from '../visit/cup.js';
import { historyOf, whySpoiled } from '../visit/cupHistory.js';
import { exposureOf, observations } from '../visit/exposures.js';
import { ruleOn } from '../visit/ruling.js';
import type { Season } from '../visit/season.js';
import { type CupShown, isBlind } from './cupPage.js';
import { timeText } from './view.js';

/** What a cup's page is made of. */
export interface CupStory {
  readonly shown: CupShown;
  readonly observations: readonly Observation[];
  readonly history: readonly string[];
  /** Null while it may not be told. */
  readonly ruling: CupRuling | null;
}

/** A story is told anew after this long, or when a fact is new: its readings come from the store each time. */
const TOLD_FOR = seconds(2);

/** Tells of single cups from a store; null for a cup that is not known. */
export function cupStories(
  store: Store,
  monotonic: () => MonotonicMs,
): (season: Season, label: CupLabel, now: UtcMs) => CupStory | null {
  let last: { readonly story: CupStory; readonly season: Season; readonly at: MonotonicMs } | null = null;
  return (season, label, now) => {
    const cup = season.cups.get(label);
    if (cup === undefined) return null;
    const at = monotonic();
    const isNew = last === null || last.season !== season || last.story.shown.cup.cup !== label;
    if (last === null || isNew || at - last.at >= TOLD_FOR)
      last = { story: cupStory(store, season, cup, now), season, at };
    return last.story;
  };
}

function cupStory(store: Store, season: Season, cup: Cup, now: UtcMs): CupStory {
  const visit = season.visits.get(cup.visit)!;
  const exposure = exposureOf(season, cup, now);
  const read = (probe: string, from: UtcMs, to: UtcMs) =>
    observations(store.readings(probe as RomId, from, to), season.commissioned);
  const isRiding = isExposed(cup);
  const shown: CupShown = {
    cup,
    names: carrierNames(season),
    visit,
    now,
    state: isRiding
      ? liveState(exposure, (probe) => read(probe, exposure.load, exposure.turn), visit.rules)
      : null,
  };
  if (isBlind(cup)) return { shown, observations: [], history: [], ruling: null };
  const ruling = ruleOn(store, season, cup, visit.rules, now, whySpoiled(store, cup));
  return {
    shown,
    observations: exposure.seatings
      .toSorted((a, b) => a.from - b.from)
      .flatMap(({ probe, from, to }) => read(probe, from, to)),
    history: isRiding ? [] : historyOf(store, season, cup, ruling, (at) => timeText(at, visit.zone)),
    ruling,
  };
}
