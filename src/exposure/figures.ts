import { type Celsius, celsius } from '../units/temperature.js';
import { between, type DurationMs, durationMs, later } from '../units/time.js';
import type { RuleSet } from './ruleSet.js';
import { SeatingFold, type SeatingPart, type Span, throughout, type WarmUp } from './seatingFold.js';
import { LIMIT_NAMES, type LimitName, limitsOf, SpellCount, type Spells } from './spells.js';
import { type ObservationsOf, seatingsIn, type Window, within } from './timeline.js';
import type { Exposure, Gap } from './types.js';

/** What is known of a cup's temperature from the start of a window to its end. */
export interface Figures {
  readonly observed: DurationMs;
  readonly minCelsius: Celsius | null;
  readonly maxCelsius: Celsius | null;
  readonly meanCelsius: Celsius | null;
  readonly degreeMinutesBelow: number | null;
  readonly gaps: readonly Gap[];
  readonly spells: Readonly<Record<LimitName, Spells>>;
  /** One for each seating that began with a probe still warming up, in order of time. */
  readonly warmUps: readonly WarmUp[];
}

/** The figures of an exposure in a window. @throws {Refusal} as `judgeExposure` */
export function figuresIn(
  { cup, seatings }: Exposure,
  window: Window,
  observationsOf: ObservationsOf,
  rules: RuleSet,
): Figures {
  const parts = seatingsIn(cup, seatings, window).map((seating) => {
    const fold = new SeatingFold(seating, window.from, rules);
    for (const { at, celsius } of within(observationsOf(seating.probe), seating)) fold.add(at, celsius);
    return fold.endedAt(seating.to);
  });
  return figuresOf(parts, window, rules);
}

/** Puts the parts of a window together, one a seating and in order of time; what lies between them is gap. */
export function figuresOf(parts: readonly SeatingPart[], window: Window, rules: RuleSet): Figures {
  const limits = limitsOf(rules);
  const end = between(window.from, window.to);
  const gaps: Span[] = [];
  const spells = Object.fromEntries(
    LIMIT_NAMES.map((name) => [name, new SpellCount(limits[name].possible)]),
  ) as Record<LimitName, SpellCount>;
  let known = durationMs(0);
  const gapUntil = (to: DurationMs) => {
    if (to <= known) return;
    const gap = { from: known, to };
    gaps.push(gap);
    for (const name of LIMIT_NAMES) if (limits[name].possible) spells[name].add(throughout(gap));
  };
  for (const part of parts) {
    if (part.observed === null) continue;
    gapUntil(part.observed.from);
    for (const gap of part.gaps) gaps.push(gap);
    for (const name of LIMIT_NAMES) spells[name].append(part.spells[name]);
    known = part.observed.to;
  }
  gapUntil(end);
  const observed = durationMs(parts.reduce((sum, { observedMs }) => sum + observedMs, 0));
  return {
    observed,
    ...extremesOf(parts),
    meanCelsius: meanOf(parts, observed),
    degreeMinutesBelow: observed === 0 ? null : parts.reduce((sum, part) => sum + part.degreeMinutesBelow, 0),
    gaps: gaps.map(({ from, to }) => ({ from: later(window.from, from), to: later(window.from, to) })),
    spells: Object.fromEntries(LIMIT_NAMES.map((name) => [name, spells[name].spells(end)])) as Record<
      LimitName,
      Spells
    >,
    warmUps: parts.flatMap(({ warmUp }) => (warmUp === null ? [] : [warmUp])),
  };
}

function extremesOf(parts: readonly SeatingPart[]): Pick<Figures, 'minCelsius' | 'maxCelsius'> {
  const read = parts.filter(({ readings }) => readings > 0);
  if (read.length === 0) return { minCelsius: null, maxCelsius: null };
  return {
    minCelsius: celsius(Math.min(...read.map(({ min }) => min))),
    maxCelsius: celsius(Math.max(...read.map(({ max }) => max))),
  };
}

/** Time-weighted mean over observed time, null when there is none. */
function meanOf(parts: readonly SeatingPart[], observed: DurationMs): Celsius | null {
  const origin = parts.find(({ readings }) => readings > 0)?.first;
  if (observed === 0 || origin === undefined) return null;
  const above = parts.reduce(
    (sum, part) =>
      part.readings === 0 ? sum : sum + part.aboveFirst + (part.first - origin) * part.observedMs,
    0,
  );
  return celsius(origin + above / observed);
}
