import {
  colonyInfestation,
  type EfficacyReport,
  type Interval,
  type Ruling,
  type YardEntry,
} from '../../../shared/index.js';
import type { RuleSet } from '../../exposure/ruleSet.js';
import type { CupRuling } from '../../exposure/types.js';
import type { Records } from '../../store/store.js';
import type { UtcMs } from '../../units/time.js';
import type { Cup } from '../../visit/cup.js';
import { type ArmParts, armOf, armPartsOf, visitResult } from '../../visit/result.js';
import { cupsOf, type Season, type Visit } from '../../visit/season.js';
import { stillToCount } from '../../visit/stillToCount.js';
import type { Words } from '../words/words.js';
import { type Changed, changedIn, isSetByPerson } from './changed.js';
import { type Lack, lacksOf } from './lacking.js';

/** What one visit has to tell its beekeeper. */
export interface Findings {
  readonly yard: string;
  readonly at: UtcMs;
  readonly zone: string;
  readonly rules: RuleSet;
  readonly cups: { readonly strip: number; readonly noStrip: number; readonly colonies: number };
  /** What the arms are made of, by the names that entries have. */
  readonly arms: ReadonlyMap<string, ArmParts>;
  /** What is done and to be done with each cup while a wash is to come; null when nothing is waited for. */
  readonly waiting: readonly WaitingCup[] | null;
  /** One for each arm; empty while waiting. */
  readonly entries: readonly YardEntry[];
  /** What people changed, by arm; an arm in which they changed nothing has none. */
  readonly changed: ReadonlyMap<string | null, Changed>;
  readonly level: number;
  readonly leftOut: readonly LeftOut[];
  /** What any of the entries lacks for a verdict. */
  readonly lacks: readonly Lack[];
  /** Cool cups among those with mites that count, by arm. */
  readonly cool: ReadonlyMap<string | null, CoolCups>;
  readonly colonies: readonly ColonyMites[];
}

export interface CoolCups {
  readonly cool: number;
  readonly of: number;
}

export interface WaitingCup {
  readonly cup: string;
  readonly colony: string | null;
  readonly tray: number | null;
  readonly next: Step | 'none';
}

/** What a cup waits for, the first step first. */
const STEPS = ['turn', 'tray', 'wash'] as const;
export type Step = (typeof STEPS)[number];

/** The first step that a cup of these yards waits for: when it is the wash, the trays are counted. `load`: there is no cup. */
export function firstStep(all: readonly Findings[]): Step | 'load' {
  const waiting = all.flatMap(({ waiting }) => waiting ?? []);
  return STEPS.find((step) => waiting.some(({ next }) => next === step)) ?? 'load';
}

/** An arm in a language; null for an entry that names none. */
export const armIn = (words: Words, { arms }: Findings, arm: string | null): string | null => {
  const parts = arm === null ? undefined : arms.get(arm);
  return parts === undefined ? null : words.arm(parts);
};

export interface LeftOut {
  /** `person`: set aside by a person against the rules' own ruling. */
  readonly why: Exclude<Ruling, 'valid'> | 'person' | 'unread' | 'empty';
  readonly cups: readonly string[];
}

export interface ColonyMites {
  /** Null for a cup of no named colony. */
  readonly colony: string | null;
  readonly cup: string;
  readonly per100: number;
  readonly interval: Interval | null;
}

/**
 * What a visit found. While a turned cup waits for its wash there is only what the trays held: no ruling, no efficacy and
 * no infestation, so that whoever still counts knows none of them.
 *
 * @param isFinal gives the answer although cups are not fully counted
 */
export function findingsOf(
  store: Records,
  season: Season,
  visit: Visit,
  now: UtcMs,
  isFinal: boolean,
): Findings {
  const cups = cupsOf(season, visit.visit);
  const strip = cups.filter(({ kind }) => kind === 'strip');
  const about = {
    yard: visit.yard,
    at: visit.opened,
    zone: visit.zone,
    rules: visit.rules,
    cups: {
      strip: strip.length,
      noStrip: cups.length - strip.length,
      colonies: new Set(cups.flatMap(({ colony }) => colony ?? [])).size,
    },
    arms: new Map(
      strip.flatMap((cup) => {
        const parts = armPartsOf(cup);
        return parts === null ? [] : [[armOf(cup)!, parts] as const];
      }),
    ),
  };
  const waiting = cups.map(waitingCup);
  if (!isFinal && (cups.length === 0 || stillToCount(cups).length > 0))
    return {
      ...about,
      waiting,
      entries: [],
      changed: new Map(),
      level: visit.rules.level,
      leftOut: [],
      lacks: [],
      cool: new Map(),
      colonies: [],
    };
  const result = visitResult(store, season, [visit], now);
  const { efficacy, rulings } = result;
  const ruled = new Map(rulings.map((ruling) => [ruling.cup, ruling]));
  return {
    ...about,
    waiting: null,
    entries: withStrip(efficacy),
    changed: changedIn(season, strip, result, ruled, now),
    level: efficacy.level,
    leftOut: leftOut(strip, ruled),
    lacks: [
      ...new Set(
        withStrip(efficacy).flatMap((entry) =>
          lacksOf(
            entry,
            leftOut(
              strip.filter((cup) => armOf(cup) === entry.arm),
              ruled,
            ),
            visit.rules,
          ),
        ),
      ),
    ],
    cool: coolCups(strip, ruled, visit.rules),
    colonies: colonyMites(cups, ruled, efficacy.level),
  };
}

/** The entries that have an efficacy to tell of; cups without strip alone have none. */
const withStrip = ({ yards }: EfficacyReport): YardEntry[] =>
  yards.filter(({ cups }) => cups.valid + cups.excluded > 0);

function waitingCup({ cup, colony, counts, turn, spoiled }: Cup): WaitingCup {
  const next = () => {
    if (spoiled !== null) return 'none';
    if (turn === null) return 'turn';
    if (counts.tray === null) return 'tray';
    return counts.wash === null ? 'wash' : 'none';
  };
  return { cup, colony, tray: counts.tray, next: next() };
}

/** Rulings by the rules, by cup. */
export type Ruled = ReadonlyMap<string, CupRuling>;

/** The ruling that counts: a person's word goes before the rules. */
const rulingOn = (cup: Cup, ruled: Ruled): Ruling =>
  cup.overruled?.ruling ?? ruled.get(cup.cup)?.ruling ?? 'valid';

const mitesIn = ({ counts }: Cup): number | null =>
  counts.tray === null || counts.wash === null ? null : counts.tray + counts.wash;

/** Most to least: what was ruled out first, then what could not be used. */
const WHYS = ['cold', 'hot', 'short', 'long', 'unproven', 'spoiled', 'person', 'unread', 'empty'] as const;

function leftOut(strip: readonly Cup[], ruled: Ruled): LeftOut[] {
  const whyOf = (cup: Cup): LeftOut['why'] | null => {
    const ruling = rulingOn(cup, ruled);
    if (ruling !== 'valid') return isSetByPerson(cup, ruled) ? 'person' : ruling;
    const mites = mitesIn(cup);
    if (mites === null) return 'unread';
    return mites === 0 ? 'empty' : null;
  };
  return WHYS.flatMap((why) => {
    const cups = strip.filter((cup) => whyOf(cup) === why).map(({ cup }) => cup);
    return cups.length === 0 ? [] : [{ why, cups }];
  });
}

function coolCups(strip: readonly Cup[], ruled: Ruled, rules: RuleSet): Findings['cool'] {
  const found = new Map<string | null, CoolCups>();
  for (const cup of strip) {
    if (rulingOn(cup, ruled) !== 'valid' || !mitesIn(cup)) continue;
    const { cool, of } = found.get(armOf(cup)) ?? { cool: 0, of: 0 };
    const mean = ruled.get(cup.cup)?.meanCelsius ?? null;
    const isCool = mean !== null && mean < rules.coolMeanCelsius;
    found.set(armOf(cup), { cool: cool + (isCool ? 1 : 0), of: of + 1 });
  }
  return found;
}

/**
 * Mites per 100 bees of each colony, from every cup of it that was read and not spoiled; a cup of no named colony stands
 * for itself. Bees that were estimated widen the range.
 */
export function colonyMites(cups: readonly Cup[], ruled: Ruled, level: number): ColonyMites[] {
  const byColony = new Map<string, Cup[]>();
  for (const cup of cups) {
    if (rulingOn(cup, ruled) === 'spoiled' || mitesIn(cup) === null || !cup.counts.bees) continue;
    const key = cup.colony === null ? `cup ${cup.cup}` : `colony ${cup.colony}`;
    byColony.set(key, [...(byColony.get(key) ?? []), cup]);
  }
  return [...byColony.values()].map((cups) => {
    const { colony, cup } = cups[0]!;
    const bees = cups.reduce((sum, each) => sum + each.counts.bees!, 0);
    const mites = cups.reduce((sum, each) => sum + mitesIn(each)!, 0);
    // Errors of estimates made apart add in squares.
    const cv = Math.hypot(...cups.map((each) => each.counts.bees! * (each.bees?.cv ?? 0))) / bees;
    const { per100, interval } = colonyInfestation(mites, bees, cv, level);
    return { colony, cup, per100: per100 ?? 0, interval };
  });
}
