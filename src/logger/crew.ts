import type { CrewAction, Scenario } from '../emulator/scenario.js';
import { DEFAULT_RULES, rulesToJson } from '../exposure/ruleSet.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import {
  closeVisit,
  countCup,
  type Entering,
  type Loading,
  liftCup,
  loadCup,
  moveCup,
  seatCup,
  turnCup,
} from '../visit/actions.js';
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
  const entering: Entering = { store, at, within: null, who: null, late: null, now: at };
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
    case 'load':
      return loadCup(season.visits.get(action.visit)!, action.cup, loadingOf(action), entering);
    case 'seat':
      return seatCup(action.cup, action, entering);
    case 'move':
      return moveCup(action.cup, action, entering);
    case 'lift':
      return liftCup(action.cup, entering);
    case 'turn':
      return turnCup(action.cup, entering);
    case 'count':
      return countCup(season, action.cup, action, null, entering);
    case 'close-visit':
      return closeVisit(season, action.visit, entering);
  }
}

const loadingOf = ({ kind, colony, group }: Extract<CrewAction, { does: 'load' }>): Loading => ({
  kind,
  colony: colony ?? undefined,
  group: group ?? undefined,
});
