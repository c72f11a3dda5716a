import { type Netlist, netOf, ohms, partsOf } from './netlist.js';

/**
 * The slowest rise of the 1-Wire line with which the firmware has been proven, microseconds: its image reads every
 * probe on the emulated bus without leaving the datasheet's windows (tests/hardware/firmware/timing.test.ts).
 */
export const PROVEN_RISE_US = 4;

/** Where the board's input surely reads 1, as a part of its supply: ATmega328P datasheet, DC characteristics, V_IH 0.6 V_CC (from memory). */
const HIGH = 0.6;
/** One probe's data pin: DS18B20 datasheet, C_IN/OUT 25 pF (from memory). */
export const PROBE_PF = 25;
/** The board's pin, its wiring and the terminal: common practice, no source. */
export const BOARD_PF = 30;
/** A metre of thin three-core cable, data beside ground, at its worst: common practice, no source (50 to 100). */
export const CABLE_PF_PER_M = 100;
/** The trunk past one slot, and its lead from the board: common practice, no source. */
export const TRUNK_M = { fromBoard: 0.5, aSlot: 0.15 } as const;
/** A probe's own lead, long enough to reach a flask of ice beside the carrier. */
export const LEAD_M = 0.7;
/** What a probe's pin may sink, at 0.4 V: DS18B20 datasheet, 19-7487 Rev 4. */
const SINK = { milliamperes: 4, volts: 0.4 } as const;
/** The highest supply that a USB adapter may give: USB 2.0, 7.2.2 (from memory). */
const SUPPLY_V_MOST = 5.25;

export interface BusBudget {
  readonly probes: number;
  readonly cableM: number;
  readonly picofarads: number;
  readonly ohms: number;
  /** R C ln(1 / (1 - 0.6)): from 0 V to where the board reads 1. */
  readonly riseUs: number;
  /** What the line may have at this pull-up, cable and all. */
  readonly cableMMost: number;
  /** The pull-up's current at its most, when a probe holds the line low. */
  readonly sinkMilliamperes: number;
}

/** The bus of a carrier with `probes` probes and a pull-up of `ohms`. */
export function busBudget(probes: number, ohms: number): BusBudget {
  const cableM = TRUNK_M.fromBoard + probes * (TRUNK_M.aSlot + LEAD_M);
  const fixedPf = BOARD_PF + probes * PROBE_PF;
  const picofarads = fixedPf + cableM * CABLE_PF_PER_M;
  const usPerPf = (ohms * Math.log(1 / (1 - HIGH))) / 1e6;
  return {
    probes,
    cableM,
    picofarads,
    ohms,
    riseUs: picofarads * usPerPf,
    cableMMost: Math.max(0, (PROVEN_RISE_US / usPerPf - fixedPf) / CABLE_PF_PER_M),
    sinkMilliamperes: ((SUPPLY_V_MOST - SINK.volts) / ohms) * 1000,
  };
}

/** The budget of a netlist's own bus, or null when it has no one pull-up to go by. */
export function budgetOf(netlist: Netlist): BusBudget | null {
  const probes = partsOf(netlist, 'probe');
  const bus = netOf(netlist, `${probes[0]?.ref}.DQ`);
  const pullUps = partsOf(netlist, 'resistor').filter(({ ref }) =>
    ['1', '2'].some((pin) => netOf(netlist, `${ref}.${pin}`) === bus),
  );
  const value = pullUps.length === 1 && pullUps[0] ? ohms(pullUps[0].value) : null;
  return value === null ? null : busBudget(probes.length, value);
}

/** What is wrong with a budget, one sentence each. */
export function checkBusBudget({
  riseUs,
  cableM,
  cableMMost,
  sinkMilliamperes,
  ohms: pullUp,
}: BusBudget): string[] {
  const kOhm = `${pullUp / 1000} kOhm`;
  return [
    ...(riseUs > PROVEN_RISE_US
      ? [
          `the bus rises in ${riseUs.toFixed(1)} us, and the firmware is proven up to ${PROVEN_RISE_US} us; take a pull-up below ${kOhm}, or at most ${cableMMost.toFixed(1)} m of cable instead of ${cableM.toFixed(1)} m`,
        ]
      : []),
    ...(sinkMilliamperes > SINK.milliamperes
      ? [
          `a pull-up of ${kOhm} gives a probe ${sinkMilliamperes.toFixed(1)} mA to sink, and it is made for ${SINK.milliamperes} mA; take a larger one`,
        ]
      : []),
  ];
}
