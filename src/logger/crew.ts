import type { CrewAction, Scenario } from '../emulator/scenario.js';
import { DEFAULT_RULES, rulesToJson } from '../exposure/ruleSet.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import { rulingFacts } from '../visit/ruleBlind.js';
import type { Season } from '../visit/season.js';

/** Which probe sits in which slot: what a person with a warm hand would have found before the ride. */
export function assignments(scenario: Scenario): Fact[] {
  return scenario.carriers.flatMap(({ carrier, slots, isAssigned }) =>
    (isAssigned ? slots : []).map(
      ({ slot, rom }): Fact => ({ type: 'probe-assigned', carrier, slot, rom, at: scenario.start }),
    ),
  );
}

/** What the crew of a scenario does, as the commands `visit` and `cup` record it. */
export function factsOf(action: CrewAction, season: Season, store: Store): Fact[] {
  const { at } = action;
  switch (action.does) {
    case 'open-visit':
      return [
        {
          type: 'visit-opened',
          visit: action.visit,
          yard: action.yard,
          zone: action.zone,
          active: action.active,
          lot: action.lot,
          declaredCups: action.declaredCups,
          rules: rulesToJson(DEFAULT_RULES),
          at,
        },
      ];
    case 'load': {
      const visit = season.visits.get(action.visit);
      const isStrip = action.kind === 'strip';
      return [
        {
          type: 'cup-loaded',
          visit: action.visit,
          cup: action.cup,
          kind: action.kind,
          active: isStrip ? (visit?.active ?? null) : null,
          lot: isStrip ? (visit?.lot ?? null) : null,
          colony: action.colony,
          group: action.group,
          at,
        },
      ];
    }
    case 'seat':
      return [{ type: 'cup-seated', cup: action.cup, carrier: action.carrier, slot: action.slot, at }];
    case 'move':
      return [{ type: 'cup-moved', cup: action.cup, carrier: action.carrier, slot: action.slot, at }];
    case 'lift':
      return [{ type: 'cup-lifted', cup: action.cup, at }];
    case 'turn':
      return [{ type: 'cup-turned', cup: action.cup, at }];
    case 'count':
      return [
        ...rulingFacts(store, season, [season.cups.get(action.cup)!], at),
        { type: 'cup-counted', cup: action.cup, tray: action.tray, wash: action.wash, bees: action.bees, at },
      ];
    case 'close-visit':
      return [{ type: 'visit-closed', visit: action.visit, at }];
  }
}
