import { figuresIn } from '../exposure/figures.js';
import type { FiguresIn } from '../exposure/followedFigures.js';
import { type LiveState, liveState } from '../exposure/live.js';
import type { Observation } from '../exposure/types.js';
import type { CarrierId, RomId } from '../units/ids.js';
import type { Celsius } from '../units/temperature.js';
import { between, type DurationMs, later, minutes, type UtcMs } from '../units/time.js';
import { type Cup, isExposed, placeNow, slotText } from './cup.js';
import { exposureOf } from './exposures.js';
import type { Carrier, Season, Visit } from './season.js';
import { stillToCount } from './stillToCount.js';

/** Readings of probes, in order of time, as a screen holds them. */
export type ObservationsOf = (rom: string) => readonly Observation[];

/** How the figures of a cup are found: anew, or by what follows its exposure. */
export type FiguresOf = (cup: Cup) => FiguresIn;
const ANEW: FiguresOf = () => figuresIn;

/** One slot as the crew sees it. */
export interface SlotView {
  readonly carrier: CarrierId;
  readonly slot: number;
  readonly rom: RomId | null;
  /** The probe's latest trustworthy reading; null when it never had one lately. */
  readonly latest: { readonly celsius: Celsius; readonly age: DurationMs } | null;
  readonly cup: CupView | null;
  /**
   * Readings up to then tell how a cup rode that is turned and still to be counted: who counts it should not see them.
   * Null when there is none.
   */
  readonly hiddenUntil: UtcMs | null;
}

export interface CupView {
  readonly cup: Cup;
  readonly visit: Visit;
  readonly state: LiveState;
}

/** A reading older than this says nothing about now. */
const LATEST_AGE_MAX = minutes(2);

/** All slots that have a probe or a cup, carrier by carrier, in order of slot. */
export function slotViews(
  season: Season,
  observationsOf: ObservationsOf,
  now: UtcMs,
  figuresOf: FiguresOf = ANEW,
): SlotView[] {
  const seated = new Map<string, Cup>();
  const carriers = new Map<CarrierId, Set<number>>();
  const hidden = hiddenUntil(season);
  const slotsOf = (id: CarrierId) => carriers.get(id) ?? carriers.set(id, new Set()).get(id)!;
  for (const [id, { slots }] of season.carriers) for (const slot of slots.keys()) slotsOf(id).add(slot);
  for (const cup of season.cups.values()) {
    const place = cup.turn === null ? placeNow(cup) : null;
    if (!place) continue;
    seated.set(slotText(place), cup);
    slotsOf(place.carrier).add(place.slot);
  }
  return [...carriers]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .flatMap(([id, slots]) =>
      [...slots]
        .sort((a, b) => a - b)
        .map((slot): SlotView => {
          const rom = probeIn(season.carriers.get(id), slot, now);
          const cup = seated.get(slotText({ carrier: id, slot }));
          return {
            carrier: id,
            slot,
            rom,
            latest: rom === null ? null : latest(observationsOf(rom), now),
            cup: cup ? cupView(season, cup, observationsOf, now, figuresOf) : null,
            hiddenUntil: hidden.get(slotText({ carrier: id, slot })) ?? null,
          };
        }),
    );
}

/** When the last of the cups that are turned and still to be counted left each slot that any of them was in. */
function hiddenUntil({ cups }: Season): ReadonlyMap<string, UtcMs> {
  const until = new Map<string, UtcMs>();
  for (const cup of stillToCount([...cups.values()]))
    if (cup.turn !== null)
      for (const place of cup.places) {
        const left = place.to ?? cup.turn;
        const slot = slotText(place);
        if (left > (until.get(slot) ?? left - 1)) until.set(slot, left);
      }
  return until;
}

/** The cups that are exposed but in no slot: just loaded, or lifted out. */
export function unseatedCups(
  season: Season,
  observationsOf: ObservationsOf,
  now: UtcMs,
  figuresOf: FiguresOf = ANEW,
): CupView[] {
  return [...season.cups.values()]
    .filter((cup) => isExposed(cup) && placeNow(cup) === null)
    .map((cup) => cupView(season, cup, observationsOf, now, figuresOf));
}

function cupView(
  season: Season,
  cup: Cup,
  observationsOf: ObservationsOf,
  now: UtcMs,
  figuresOf: FiguresOf,
): CupView {
  const visit = season.visits.get(cup.visit)!;
  const exposure = exposureOf(season, cup, now);
  return { cup, visit, state: liveState(exposure, observationsOf, visit.rules, figuresOf(cup)) };
}

/** The probe that a slot has now. */
export function probeIn(carrier: Carrier | undefined, slot: number, now: UtcMs): RomId | null {
  return carrier?.slots.get(slot)?.findLast(({ from }) => from <= now)?.rom ?? null;
}

function latest(observations: readonly Observation[], now: UtcMs): SlotView['latest'] {
  const last = observations.findLast(({ at }) => at <= now);
  if (!last || later(last.at, LATEST_AGE_MAX) < now) return null;
  return { celsius: last.celsius, age: between(last.at, now) };
}
