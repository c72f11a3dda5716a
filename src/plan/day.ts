import type { RuleSet } from '../exposure/ruleSet.js';
import type { CarrierId, VisitId, YardCode } from '../units/ids.js';
import {
  between,
  type DurationMs,
  durationMs,
  inMinutes,
  later,
  minutes,
  type UtcMs,
} from '../units/time.js';
import { dueWindow, type TurnWindow } from '../visit/turnWindow.js';

/**
 * A day of one crew, worked out minute by minute. One thing is done at a time: a cup is taken, or cups are turned, or the
 * vehicle drives; so nobody turns a cup or reads while driving, and turns on the way are stops.
 */

export interface PlannedSlot {
  readonly carrier: CarrierId;
  readonly slot: number;
}

/** One cup as it was written down; null is not told. */
export interface PlannedCup {
  readonly kind: 'strip' | 'no-strip';
  readonly colony: string | null;
  readonly group: string | null;
  readonly active: string | null;
  readonly lot: string | null;
}

export interface PlannedYard {
  readonly visit: VisitId;
  readonly yard: YardCode;
  /** In the order in which they are taken. */
  readonly cups: readonly PlannedCup[];
  /** Not begun before; null when it does not matter. */
  readonly notBefore: UtcMs | null;
  /** From the yard before, packing and unpacking included; 0 for the first. */
  readonly drive: DurationMs;
}

export interface DayQuestion {
  readonly yards: readonly PlannedYard[];
  readonly slots: readonly PlannedSlot[];
  readonly start: UtcMs;
  /** When the last cup is to be turned. */
  readonly until: UtcMs;
  readonly takeCup: DurationMs;
  readonly turnCup: DurationMs;
  readonly rules: RuleSet;
}

export interface CupOfDay extends TurnWindow {
  readonly yard: PlannedYard;
  /** From 1 on within its yard. */
  readonly number: number;
  readonly cup: PlannedCup;
  readonly slot: PlannedSlot;
  readonly load: UtcMs;
  /** Null as long as it is not turned; at the end every cup is. */
  readonly turn: UtcMs;
}

export type StepKind = 'load' | 'drive' | 'turn' | 'wait';

/** What the crew does from one time to another. Equal things one after the other are one step. */
export interface Step {
  readonly does: StepKind;
  readonly from: UtcMs;
  readonly to: UtcMs;
  /** The yard that is loaded, driven to or turned. */
  readonly yard: PlannedYard;
  /** Where the crew is: at a yard, or on the way to one. */
  readonly place: { readonly yard: PlannedYard; readonly isOnTheWay: boolean };
  readonly cups: number;
}

/** What does not go together. */
export type Clash =
  /** Cups of a yard are turned between the first and the last load at another, or on the way to one. */
  | {
      readonly about: 'turned-while-loading' | 'turned-on-the-way';
      readonly turned: PlannedYard;
      readonly at: PlannedYard;
      readonly cups: number;
      readonly from: UtcMs;
      readonly to: UtcMs;
    }
  | {
      readonly about: 'slots';
      readonly at: PlannedYard;
      readonly cups: number;
      readonly free: number;
      readonly from: UtcMs;
      readonly to: UtcMs;
    }
  | {
      readonly about: 'window';
      readonly turned: PlannedYard;
      readonly cups: number;
      readonly lateBy: DurationMs;
    }
  | { readonly about: 'too-long'; readonly end: UtcMs };

export interface Day {
  readonly steps: readonly Step[];
  readonly cups: readonly CupOfDay[];
  readonly clashes: readonly Clash[];
  readonly end: UtcMs;
  /** Every cup has a slot and is turned within its window, and the last one in time. */
  readonly fits: boolean;
}

/** A cup that is due so soon is waited for where the crew stands; judgement. */
const WAIT_MAX = minutes(10);

type Loaded = { -readonly [Key in keyof CupOfDay]: CupOfDay[Key] };

/** Works out the day. There is at least one slot, and one cup in each yard. */
export function planDay(question: DayQuestion): Day {
  const worker = new Worker(question);
  for (const [index, yard] of question.yards.entries()) {
    if (index > 0) worker.driveTo(yard);
    worker.loadAt(yard);
  }
  worker.turnTheRest();
  return worker.day();
}

class Worker {
  private now: UtcMs;
  private readonly steps: Step[] = [];
  private readonly cups: Loaded[] = [];
  /** In order of due, which is that of their loads. */
  private riding: Loaded[] = [];
  private readonly shortages: Clash[] = [];
  private place: Step['place'];

  constructor(private readonly question: DayQuestion) {
    this.now = question.start;
    this.place = { yard: question.yards[0]!, isOnTheWay: false };
  }

  driveTo(yard: PlannedYard): void {
    let left = yard.drive;
    while (left > 0) {
      this.turnWhatIsDue();
      const next = this.riding[0];
      const free = next === undefined ? left : between(this.now, this.begin(next));
      // So short a leg is not worth it: wait where we are.
      if (next !== undefined && free < left && free <= WAIT_MAX) {
        this.turn(next);
        continue;
      }
      const leg = durationMs(Math.min(left, free));
      this.place = { yard, isOnTheWay: true };
      this.take('drive', leg, yard);
      left = durationMs(left - leg);
    }
    this.place = { yard, isOnTheWay: false };
  }

  loadAt(yard: PlannedYard): void {
    if (yard.notBefore !== null) this.idleUntil(yard.notBefore);
    this.turnWhatIsDue();
    const free = this.freeSlots().length;
    const before = this.now;
    // All cups of a yard one after the other, when they ever have room together: else they would be turned one by one, too.
    const together = Math.min(yard.cups.length, this.question.slots.length);
    if (this.freeSlots().length < together) {
      while (this.freeSlots().length < together) this.turn(this.riding[0]!);
      this.turnWhatIsDue(true);
    }
    if (free < yard.cups.length) this.noteShortage(yard, free, before);
    const slots = stripes(this.freeSlots(), yard.cups);
    for (const [index, cup] of yard.cups.entries()) {
      for (;;) {
        this.turnWhatIsDue();
        const next = this.riding[0];
        if (next === undefined) break;
        if (this.freeSlots().length > 0 && !this.wouldBeMissedBy(later(this.now, this.question.takeCup)))
          break;
        this.turn(next);
      }
      const free = this.freeSlots();
      const wanted = slots[index];
      const slot = free.find((each) => wanted !== undefined && same(each, wanted)) ?? free[0]!;
      this.take('load', this.question.takeCup, yard, 1);
      const load = this.now;
      const window = dueWindow({ load, loadWithin: durationMs(0) }, this.question);
      const loaded = { yard, number: index + 1, cup, slot, load, turn: window.due, ...window };
      this.cups.push(loaded);
      this.riding.push(loaded);
    }
  }

  turnTheRest(): void {
    while (this.riding.length > 0) this.turn(this.riding[0]!);
  }

  day(): Day {
    const { until } = this.question;
    const missed = byYard(this.cups.filter(({ turn, to }) => turn > to)).map(
      ([turned, cups]): Clash => ({
        about: 'window',
        turned,
        cups: cups.length,
        lateBy: durationMs(Math.max(...cups.map(({ turn, to }) => between(to, turn)))),
      }),
    );
    const tooLong: Clash[] = this.now > until ? [{ about: 'too-long', end: this.now }] : [];
    const crowded = this.shortages.some(
      (clash) => clash.about === 'slots' && clash.cups > this.question.slots.length,
    );
    return {
      steps: this.steps,
      cups: this.cups,
      clashes: [...this.shortages, ...this.meetings(), ...missed, ...tooLong],
      end: this.now,
      fits: missed.length === 0 && tooLong.length === 0 && !crowded,
    };
  }

  private take(does: StepKind, length: DurationMs, yard: PlannedYard, cups = 0): void {
    const [from, to] = [this.now, later(this.now, length)];
    const last = this.steps.at(-1);
    const before = this.steps.at(-2);
    const goesOn = (step: Step): boolean =>
      step.does === does && step.yard === yard && step.place === this.place && does !== 'wait';
    // A minute's wait within a row of turns is no step of its own.
    const isPause = does === 'turn' && last?.does === 'wait' && between(last.from, last.to) <= WAIT_MAX;
    if (last !== undefined && goesOn(last)) this.steps.splice(-1, 1, { ...last, to, cups: last.cups + cups });
    else if (isPause && before !== undefined && goesOn(before))
      this.steps.splice(-2, 2, { ...before, to, cups: before.cups + cups });
    else this.steps.push({ does, from, to, yard, place: this.place, cups });
    this.now = to;
  }

  private idleUntil(at: UtcMs): void {
    while (this.riding[0] !== undefined && this.begin(this.riding[0]) <= at) this.turn(this.riding[0]);
    if (at > this.now) this.take('wait', between(this.now, at), this.place.yard);
  }

  /** Turns a cup as soon as it is due, or at once when it is that already or those before it took so long. */
  private turn(cup: Loaded): void {
    // In a row of turns the next one need not wait for the very minute.
    const isNext = this.steps.at(-1)?.does === 'turn' && between(this.now, soonest(cup)) <= WAIT_MAX;
    const at = isNext ? soonest(cup) : this.begin(cup);
    if (at > this.now) this.take('wait', between(this.now, at), this.place.yard);
    cup.turn = this.now;
    this.riding = this.riding.filter((each) => each !== cup);
    this.take('turn', this.question.turnCup, cup.yard, 1);
  }

  /** What is due is turned, and with it what can be turned soon, so that nobody stops twice for one yard. */
  private turnWhatIsDue(turnedBefore = false): void {
    let turned = turnedBefore;
    for (;;) {
      const next = this.riding[0];
      if (next === undefined) return;
      const soon = turned && between(this.now, soonest(next)) <= WAIT_MAX;
      if (this.begin(next) > this.now && !soon) return;
      this.turn(next);
      turned = true;
    }
  }

  /** When the next cup is turned if nothing else is in the way: when it is due, or as early as it may be when others follow closely. */
  private begin({ due, from }: Loaded): UtcMs {
    return this.wouldMiss(due) ? from : due;
  }

  /** Whether a cup is turned too late if the turns only begin then, and is not if they begin now. */
  private wouldBeMissedBy(then: UtcMs): boolean {
    return this.wouldMiss(then) && !this.wouldMiss(this.now);
  }

  /** Whether a cup would be turned too late if the turns only began then. */
  private wouldMiss(then: UtcMs): boolean {
    let at = then;
    return this.riding.some(({ from, to }) => {
      const turn = Math.max(at, from) as UtcMs;
      at = later(turn, this.question.turnCup);
      return turn > to;
    });
  }

  private freeSlots(): PlannedSlot[] {
    return this.question.slots.filter((slot) => !this.riding.some((cup) => same(cup.slot, slot)));
  }

  private noteShortage(at: PlannedYard, free: number, from: UtcMs): void {
    this.shortages.push({ about: 'slots', at, cups: at.cups.length, free, from, to: this.now });
  }

  /** Turns of one yard that fall between the loads of another, or stop the drive to it. */
  private meetings(): Clash[] {
    return this.question.yards.flatMap((at) => {
      const loads = this.steps.filter(({ does, yard }) => does === 'load' && yard === at);
      const [first, last] = [loads[0]!.from, loads.at(-1)!.to];
      const turns = this.steps.filter(({ does, yard }) => does === 'turn' && yard !== at);
      const meets = (about: 'turned-while-loading' | 'turned-on-the-way', those: readonly Step[]) =>
        byYard(those).map(
          ([turned, steps]): Clash => ({
            ...{ about, turned, at, cups: steps.reduce((sum, { cups }) => sum + cups, 0) },
            ...{ from: steps[0]!.from, to: steps.at(-1)!.to },
          }),
        );
      return [
        ...meets(
          'turned-on-the-way',
          turns.filter(({ place }) => place.yard === at && place.isOnTheWay),
        ),
        ...meets(
          'turned-while-loading',
          turns.filter(({ from, to }) => from >= first && to <= last),
        ),
      ];
    });
  }
}

/** Half way from the beginning of its window to its due: a plan that is kept to a minute or two still turns it in time. */
const soonest = ({ from, due }: TurnWindow): UtcMs =>
  later(from, minutes(Math.ceil(inMinutes(between(from, due)) / 2)));

const same = (a: PlannedSlot, b: PlannedSlot): boolean => a.carrier === b.carrier && a.slot === b.slot;

function byYard<Item extends { readonly yard: PlannedYard }>(
  items: readonly Item[],
): [PlannedYard, Item[]][] {
  const groups = new Map<PlannedYard, Item[]>();
  for (const item of items) groups.set(item.yard, [...(groups.get(item.yard) ?? []), item]);
  return [...groups];
}

/**
 * Which slot each cup gets, in order: the first cups of all colonies the first slots, their second ones the next, so that a
 * colony does not ride on one side alone. As many as there are slots.
 */
function stripes(free: readonly PlannedSlot[], cups: readonly PlannedCup[]): PlannedSlot[] {
  const seen = new Map<string, number>();
  const rounds = cups.map(({ colony }, index) => {
    const round = colony === null ? 0 : (seen.get(colony) ?? 0);
    if (colony !== null) seen.set(colony, round + 1);
    return { index, round };
  });
  const order = [...rounds].sort((a, b) => a.round - b.round || a.index - b.index);
  const slots: PlannedSlot[] = [];
  for (const [position, { index }] of order.entries()) if (free[position]) slots[index] = free[position];
  return slots.length < cups.length || slots.includes(undefined as never)
    ? free.slice(0, cups.length)
    : slots;
}
