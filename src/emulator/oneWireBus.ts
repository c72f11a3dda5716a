import { seededChance } from '../units/clock.js';
import { effectOf, type Fault, faultChanges } from './faults.js';
import * as timing from './oneWireTiming.js';
import type { Thermometer } from './thermometer.js';

export interface BusOptions {
  readonly thermometers: readonly Thermometer[];
  readonly faults?: readonly Fault[];
  /** How long the pull-up needs to raise the line, microseconds. */
  readonly riseUs?: number;
  /** Chance for the faults that need it. */
  readonly seed?: number;
}

const RISE_US = 1;

/**
 * The 1-Wire line with its thermometers. It is worked out at the master's edges and samples only; all times
 * are microseconds of simulated time and may only move forward. What the master does outside the datasheet's
 * windows is counted in `violations`.
 */
export class OneWireBus {
  readonly violations = new Map<timing.Violation, number>();
  /** Bits of read slots that a fault inverted. */
  flips = 0;
  readonly #thermometers: readonly Thermometer[];
  readonly #riseUs: number;
  readonly #chance: { uniform(): number };
  readonly #changes: ReturnType<typeof faultChanges>;
  #nextChange = 0;
  #nextChangeUs: number;
  readonly #under = new Set<Fault>();
  #attached: Thermometer[];
  #isShorted = false;
  #flipChance = 0;

  /** Those that have not dropped out since the last reset. */
  #active: Thermometer[] = [];
  #isLow = false;
  #fellAtUs = Number.NEGATIVE_INFINITY;
  #roseAtUs = Number.NEGATIVE_INFINITY;
  /** Until when a thermometer holds the line in this read slot. */
  #heldUntilUs = Number.NEGATIVE_INFINITY;
  #isReadSlot = false;
  #isAfterReset = false;
  #isSampled = false;

  constructor(options: BusOptions) {
    this.#thermometers = options.thermometers;
    this.#riseUs = options.riseUs ?? RISE_US;
    this.#chance = seededChance(options.seed ?? 1);
    this.#changes = faultChanges(options.faults ?? []);
    this.#nextChangeUs = this.#timeOfNextChange();
    this.#attached = [...options.thermometers];
  }

  /** All thermometers lose and regain their supply. */
  powerUp(): void {
    for (const each of this.#thermometers) each.powerUp();
    this.#active = [];
  }

  /** All violations so far. */
  get violationCount(): number {
    let sum = 0;
    for (const count of this.violations.values()) sum += count;
    return sum;
  }

  /** The master pulls the line low. */
  pull(us: number): void {
    if (us >= this.#nextChangeUs) this.#applyFaults(us);
    if (this.#isAfterReset) {
      if (us - this.#roseAtUs < timing.RESET_HIGH_MIN_US) this.violate('too soon after reset');
    } else {
      if (us - this.#fellAtUs < timing.SLOT_MIN_US) this.violate('slot too short');
      if (us - Math.max(this.#roseAtUs, this.#heldUntilUs) < timing.RECOVERY_MIN_US)
        this.violate('no recovery');
    }
    this.#isLow = true;
    this.#fellAtUs = us;
    this.#isAfterReset = false;
    this.#isSampled = false;
    this.#isReadSlot = false;
    this.#heldUntilUs = Number.NEGATIVE_INFINITY;
    for (const each of this.#active) {
      const bit = each.sends(us);
      if (bit === null) continue;
      this.#isReadSlot = true;
      if (bit === 0) this.#heldUntilUs = Math.max(this.#heldUntilUs, us + each.times.holdUs);
    }
  }

  /** The master lets the line go. */
  release(us: number): void {
    this.#isLow = false;
    this.#roseAtUs = us;
    const lowUs = us - this.#fellAtUs;
    if (lowUs >= timing.RESET_LOW_MIN_US) this.#reset(lowUs);
    else this.#endLow(lowUs, us);
  }

  /** The master looks at the line. */
  isHigh(us: number): boolean {
    if (us >= this.#nextChangeUs) this.#applyFaults(us);
    const isFirst = !this.#isSampled && !this.#isLow;
    if (isFirst) this.#checkSample(us);
    if (this.#isLow || this.#isShorted) return false;
    const level = this.#isAfterReset
      ? us >= this.#roseAtUs + this.#riseUs && !this.#isPresence(us)
      : us >= Math.max(this.#roseAtUs, this.#heldUntilUs) + this.#riseUs;
    const isFlipped =
      isFirst && this.#isReadSlot && this.#flipChance > 0 && this.#chance.uniform() < this.#flipChance;
    if (isFlipped) this.flips += 1;
    return level !== isFlipped;
  }

  violate(violation: timing.Violation): void {
    this.violations.set(violation, (this.violations.get(violation) ?? 0) + 1);
  }

  #checkSample(us: number): void {
    this.#isSampled = true;
    if (this.#isAfterReset) {
      const sinceUs = us - this.#roseAtUs;
      if (sinceUs < timing.PRESENCE_SAMPLE_MIN_US || sinceUs > timing.PRESENCE_SAMPLE_MAX_US)
        this.violate('presence sampled outside its window');
    } else if (this.#isReadSlot && us - this.#fellAtUs > timing.READ_SAMPLE_MAX_US) {
      this.violate('read sampled late');
    }
  }

  #isPresence(us: number): boolean {
    const sinceUs = us - this.#roseAtUs;
    return this.#active.some(
      ({ times }) => sinceUs >= times.presenceDelayUs && sinceUs < times.presenceDelayUs + times.presenceUs,
    );
  }

  #reset(lowUs: number): void {
    if (lowUs > timing.RESET_LOW_MAX_US) this.violate('reset too long');
    this.#isAfterReset = true;
    this.#isSampled = false;
    this.#isReadSlot = false;
    this.#heldUntilUs = Number.NEGATIVE_INFINITY;
    this.#active = this.#isShorted ? [] : [...this.#attached];
    for (const each of this.#active) each.reset();
  }

  #endLow(lowUs: number, us: number): void {
    if (this.#active.length === 0) return;
    if (lowUs < timing.LOW_MIN_US) this.violate('low too short');
    if (lowUs > timing.WRITE_0_LOW_MAX_US) this.violate('low too long for a slot');
    if (lowUs > timing.WRITE_1_LOW_MAX_US) {
      if (this.#isReadSlot) this.violate('read released late');
      else if (lowUs < timing.WRITE_0_LOW_MIN_US) this.violate('low neither 1 nor 0');
    }
    let kept = 0;
    for (const each of this.#active) {
      if (each.sends(us) !== null) each.sent();
      else each.hears(this.#isShorted || lowUs + this.#riseUs > each.times.sampleUs ? 0 : 1, us);
      if (!each.isIdle) {
        this.#active[kept] = each;
        kept += 1;
      }
    }
    this.#active.length = kept;
  }

  #timeOfNextChange(): number {
    const change = this.#changes[this.#nextChange];
    return change === undefined ? Number.POSITIVE_INFINITY : change.atMs * 1000;
  }

  #applyFaults(us: number): void {
    while (us >= this.#nextChangeUs) {
      const change = this.#changes[this.#nextChange];
      this.#nextChange += 1;
      this.#nextChangeUs = this.#timeOfNextChange();
      if (change === undefined) continue;
      if (change.begins) this.#under.add(change.fault);
      else this.#under.delete(change.fault);
      this.#applyChange(change.fault);
    }
  }

  #applyChange(fault: Fault): void {
    const effects = [...this.#under].map(({ kind, rom }) => ({ ...effectOf(kind), rom }));
    this.#isShorted = effects.some((effect) => effect.shorted);
    this.#flipChance = Math.max(0, ...effects.map((effect) => effect.flipChance ?? 0));
    for (const each of this.#thermometers) {
      const own = effects.filter(({ rom }) => rom === each.rom);
      each.garble = own.find((effect) => effect.garble)?.garble ?? null;
      each.powerUpConversion = own.find((effect) => effect.powerUpConversion)?.powerUpConversion ?? null;
      const isDetached = own.some((effect) => effect.detached);
      const wasDetached = !this.#attached.includes(each);
      const { restarts } = effectOf(fault.kind);
      if ((restarts && fault.rom === each.rom) || (wasDetached && !isDetached)) each.powerUp();
      if (isDetached === wasDetached) continue;
      this.#active = this.#active.filter((other) => other !== each);
      this.#attached = isDetached
        ? this.#attached.filter((other) => other !== each)
        : [...this.#attached, each];
    }
    if (this.#isShorted) this.#active = [];
  }
}
