import { type CupCount, efficacyReport, type YardEntry } from '../../../shared/index.js';
import type { Scenario } from '../../../src/emulator/scenario.js';
import { judgeExposure } from '../../../src/exposure/judge.js';
import { DEFAULT_RULES } from '../../../src/exposure/ruleSet.js';
import type { CupRuling, Observation, Seating } from '../../../src/exposure/types.js';
import { UNCORRECTED } from '../../../src/exposure/uncertainty.js';
import type { CupLabel, RomId } from '../../../src/units/ids.js';
import { fromSixteenths } from '../../../src/units/temperature.js';
import { later, minutes, seconds, type UtcMs } from '../../../src/units/time.js';

/** What a scenario comes to when boards, lines and store lose nothing. */
export interface Outcome {
  readonly rulings: readonly CupRuling[];
  readonly counts: readonly CupCount[];
  readonly yards: readonly YardEntry[];
}

/** The crew's actions on one cup, by what they are. */
export function actionsOn(scenario: Scenario, cup: CupLabel) {
  const of = <Does extends string>(does: Does) =>
    scenario.crew.filter(
      (action): action is Extract<typeof action, { does: Does; cup: CupLabel }> =>
        'cup' in action && action.cup === cup && action.does === does,
    );
  const one = <T>(actions: readonly T[]): T => {
    if (actions.length !== 1) throw new Error(`cup ${cup} has ${actions.length} of an action it needs once`);
    return actions[0] as T;
  };
  return {
    load: one(of('load')),
    seat: one(of('seat')),
    moves: of('move'),
    turn: one(of('turn')),
    count: one(of('count')),
  };
}

export const cupsOf = (scenario: Scenario): CupLabel[] =>
  scenario.crew.flatMap((action) => (action.does === 'load' ? [action.cup] : []));

/** Judges every cup from 12-bit readings every `period` seconds; a loose lead gives none. */
export function playFlawlessly(scenario: Scenario, period = 10): Outcome {
  const readings = readingsOf(scenario, period);
  const rulings = cupsOf(scenario).map((cup) => {
    const { load, turn } = actionsOn(scenario, cup);
    const exposure = {
      cup,
      load: load.at,
      turn: turn.at,
      precision: { load: minutes(0), turn: minutes(0) },
      seatings: seatingsOf(scenario, cup),
      spoiled: null,
      remarks: [],
    };
    return judgeExposure(exposure, (probe) => readings.get(probe) ?? [], DEFAULT_RULES);
  });
  const counts = rulings.map((ruling) => countOf(scenario, ruling));
  return { rulings, counts, yards: efficacyReport(counts).yards };
}

function readingsOf(scenario: Scenario, period: number): Map<string, Observation[]> {
  const vehicle = scenario.vehicle();
  const readings = new Map<string, Observation[]>();
  for (const { slots, faults } of scenario.carriers)
    for (const { rom } of slots) {
      const silent = (at: UtcMs) =>
        faults.some((fault) => fault.rom === rom && fault.from <= at && at < fault.to);
      const own: Observation[] = [];
      for (let at = scenario.start; at < scenario.end; at = later(at, seconds(period)))
        if (!silent(at)) own.push({ at, celsius: fromSixteenths(Math.round(vehicle.probe(rom, at) * 16)) });
      readings.set(rom, own);
    }
  return readings;
}

/** The probe of a slot. */
function romIn(scenario: Scenario, carrier: string, slot: number): RomId {
  const place = scenario.carriers
    .find((candidate) => candidate.carrier === carrier)
    ?.slots.find((candidate) => candidate.slot === slot);
  if (!place) throw new Error(`no slot ${slot} in carrier ${carrier}`);
  return place.rom;
}

function seatingsOf(scenario: Scenario, cup: CupLabel): Seating[] {
  const { seat, moves, turn } = actionsOn(scenario, cup);
  const places = [seat, ...moves];
  return places.map(({ at, carrier, slot }, i) => ({
    probe: romIn(scenario, carrier, slot),
    from: at,
    to: places[i + 1]?.at ?? turn.at,
    uncertainty: UNCORRECTED,
  }));
}

function countOf(scenario: Scenario, { cup, ruling }: CupRuling): CupCount {
  const { load, count } = actionsOn(scenario, cup as CupLabel);
  const opened = scenario.crew.find((action) => action.does === 'open-visit' && action.visit === load.visit);
  if (opened?.does !== 'open-visit') throw new Error(`visit ${load.visit} was never opened`);
  return {
    yard: opened.yard,
    cup,
    kind: load.kind,
    tray: count.tray,
    wash: count.wash,
    bees: count.bees,
    arm: null,
    colony: load.colony,
    group: load.group,
    ruling,
  };
}
