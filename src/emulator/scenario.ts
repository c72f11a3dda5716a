import type { CarrierId, CupLabel, RomId, VisitId, YardCode } from '../units/ids.js';
import type { Celsius } from '../units/temperature.js';
import type { UtcMs } from '../units/time.js';

/** An invented morning: what the vehicle's air does, what the probes feel, and what the crew does when. */
export interface Scenario {
  readonly name: string;
  /** One sentence for people who choose a scenario. */
  readonly summary: string;
  readonly start: UtcMs;
  readonly end: UtcMs;
  readonly carriers: readonly ScenarioCarrier[];
  /** From here on the crew is whoever sits at the screen, and nothing before it is waited for; left out, it never is. */
  readonly handover?: UtcMs;
  /** What the crew does, in order of time. */
  readonly crew: readonly CrewAction[];
  /** Creates the physics of one run; equal runs give equal temperatures. */
  vehicle(): Vehicle;
}

export interface ScenarioCarrier {
  readonly carrier: CarrierId;
  /** The probe in each slot; slots are numbered from 1. */
  readonly slots: readonly { readonly slot: number; readonly rom: RomId }[];
  /** What goes wrong with a probe, and when. */
  readonly faults: readonly ProbeFault[];
  /** False when nobody knows yet which probe sits in which slot. */
  readonly isAssigned: boolean;
}

export interface ProbeFault {
  readonly rom: RomId;
  readonly from: UtcMs;
  readonly to: UtcMs;
  readonly fault: 'loose-lead';
}

/** The temperatures of one run. Equal in every instance, whatever is asked and in what order. */
export interface Vehicle {
  /** What a thermometer chip would convert at this instant: the probe's own, lagging temperature. */
  probe(rom: RomId, at: UtcMs): Celsius;
  /** The air of a cup; the truth the probe is after. */
  cup(cup: CupLabel, at: UtcMs): Celsius;
}

/** One thing the crew does; the same things the commands `visit` and `cup` record. */
export type CrewAction = { readonly at: UtcMs } & (
  | {
      readonly does: 'open-visit';
      readonly visit: VisitId;
      readonly yard: YardCode;
      readonly zone: string;
      readonly active: string;
      readonly lot: string;
      readonly declaredCups: number;
    }
  | {
      readonly does: 'load';
      readonly visit: VisitId;
      readonly cup: CupLabel;
      readonly kind: 'strip' | 'no-strip';
      readonly colony: string;
      readonly group: string | null;
    }
  | { readonly does: 'seat'; readonly cup: CupLabel; readonly carrier: CarrierId; readonly slot: number }
  | { readonly does: 'move'; readonly cup: CupLabel; readonly carrier: CarrierId; readonly slot: number }
  | { readonly does: 'lift'; readonly cup: CupLabel }
  | { readonly does: 'turn'; readonly cup: CupLabel }
  | {
      readonly does: 'count';
      readonly cup: CupLabel;
      readonly tray: number;
      readonly wash: number;
      readonly bees: number;
    }
  | { readonly does: 'close-visit'; readonly visit: VisitId }
);
