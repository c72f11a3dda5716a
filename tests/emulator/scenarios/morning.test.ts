import { describe, expect, test } from 'vitest';
import type { CrewAction, Scenario } from '../../../src/emulator/scenario.js';
import { SCENARIO_PLANS } from '../../../src/emulator/scenarios/index.js';
import { morning, twoCupsEach, ZONE } from '../../../src/emulator/scenarios/morning.js';
import { DEFAULT_RULES } from '../../../src/exposure/ruleSet.js';
import { between, inMinutes, later, minutes } from '../../../src/units/time.js';
import { actionsOn, cupsOf } from './flawless.js';

const scenarios = SCENARIO_PLANS.map((plan) => morning(plan));

/** What is wrong with a crew's script; empty when it could have been done. */
function faultsIn({ crew, start, end }: Pick<Scenario, 'crew' | 'start' | 'end'>): string[] {
  const faults: string[] = [];
  const state = new Map<string, 'loaded' | 'seated' | 'turned' | 'counted'>();
  const taken = new Map<string, string>();
  const visits = new Map<string, 'open' | 'closed'>();
  const visitOf = new Map<string, string>();
  const need = (fine: boolean, { at, does }: CrewAction, what: string) => {
    if (!fine) faults.push(`${does} at ${new Date(at).toISOString()}: ${what}`);
  };
  const free = (cup: string) => {
    for (const [place, holder] of taken) if (holder === cup) taken.delete(place);
  };
  crew.forEach((action, i) => {
    need(i === 0 || crew[i - 1]!.at <= action.at, action, 'out of order');
    need(start <= action.at && action.at < end, action, 'outside the scenario');
    switch (action.does) {
      case 'open-visit':
        need(!visits.has(action.visit), action, 'opened before');
        visits.set(action.visit, 'open');
        break;
      case 'load':
        need(visits.get(action.visit) === 'open', action, 'no open visit');
        need(!state.has(action.cup), action, 'loaded before');
        state.set(action.cup, 'loaded');
        visitOf.set(action.cup, action.visit);
        break;
      case 'seat':
      case 'move': {
        const from = action.does === 'seat' ? 'loaded' : 'seated';
        need(state.get(action.cup) === from, action, `not ${from}`);
        free(action.cup);
        const place = `${action.carrier} ${action.slot}`;
        need(!taken.has(place), action, `slot ${place} is taken`);
        taken.set(place, action.cup);
        state.set(action.cup, 'seated');
        break;
      }
      case 'lift':
        need(state.get(action.cup) === 'seated', action, 'not seated');
        free(action.cup);
        state.set(action.cup, 'loaded');
        break;
      case 'turn':
        need(state.get(action.cup) === 'seated', action, 'not seated');
        free(action.cup);
        state.set(action.cup, 'turned');
        break;
      case 'count':
        need(state.get(action.cup) === 'turned', action, 'not turned');
        need(visits.get(visitOf.get(action.cup) ?? '') === 'open', action, 'no open visit');
        state.set(action.cup, 'counted');
        break;
      case 'close-visit':
        need(visits.get(action.visit) === 'open', action, 'not open');
        for (const [cup, visit] of visitOf)
          if (visit === action.visit) need(state.get(cup) === 'counted', action, `cup ${cup} not counted`);
        visits.set(action.visit, 'closed');
        break;
    }
  });
  for (const [visit, is] of visits) if (is === 'open') faults.push(`visit ${visit} is never closed`);
  return faults;
}

describe.each(scenarios.map((scenario) => [scenario.name, scenario] as const))(
  'morning() of %s',
  (_, scenario) => {
    test('has a crew whose script could have been done', () => {
      expect(faultsIn(scenario)).toEqual([]);
    });

    test('seats every cup one to three minutes after its load and turns it in its window', () => {
      for (const cup of cupsOf(scenario)) {
        const { load, seat, turn, count } = actionsOn(scenario, cup);
        const toSeat = inMinutes(between(load.at, seat.at));
        expect(toSeat).toBeGreaterThanOrEqual(1);
        expect(toSeat).toBeLessThanOrEqual(3);
        const exposure = inMinutes(between(load.at, turn.at));
        expect(exposure).toBeGreaterThanOrEqual(DEFAULT_RULES.exposureMinutesMin + 1);
        expect(exposure).toBeLessThanOrEqual(DEFAULT_RULES.exposureMinutesMax - 3);
        expect(count.bees).toBeGreaterThan(200);
        expect(count.bees).toBeLessThan(400);
      }
    });

    test('has two visits of ten cups from five colonies, one cup without strip in each, loads apart', () => {
      const visits = scenario.crew.filter((action) => action.does === 'open-visit');
      expect(visits).toHaveLength(2);
      for (const { visit, declaredCups, zone } of visits) {
        const loads = scenario.crew.filter((action) => action.does === 'load' && action.visit === visit);
        expect(loads).toHaveLength(declaredCups);
        expect(loads).toHaveLength(10);
        expect(new Set(loads.map((load) => load.at)).size).toBe(10);
        expect(new Set(loads.map((load) => load.does === 'load' && load.colony)).size).toBe(5);
        expect(loads.filter((load) => load.does === 'load' && load.kind === 'no-strip')).toHaveLength(1);
        expect(zone).toBe(ZONE);
      }
      expect(new Set(cupsOf(scenario)).size).toBe(20);
    });

    test('moves one cup during the ride and loosens one lead', () => {
      expect(scenario.crew.filter(({ does }) => does === 'move')).toHaveLength(1);
      const faults = scenario.carriers.flatMap((carrier) => carrier.faults);
      expect(faults).toHaveLength(1);
      const roms = scenario.carriers.flatMap((carrier) => carrier.slots.map(({ rom }) => rom));
      expect(roms).toContain(faults[0]!.rom);
    });

    test('is made the same again, with equal temperatures', () => {
      const plan = SCENARIO_PLANS.find(({ name }) => name === scenario.name)!;
      const again = morning(plan);
      expect(again.crew).toEqual(scenario.crew);
      const [one, other] = [scenario.vehicle(), again.vehicle()];
      for (let at = scenario.start; at < scenario.end; at = later(at, minutes(7)))
        for (const { slots } of scenario.carriers)
          for (const { rom } of slots) expect(other.probe(rom, at)).toBe(one.probe(rom, at));
    });

    test('keeps probes and cups pre-warmed at seating, so that no cup is cold from the start', () => {
      const vehicle = scenario.vehicle();
      for (const cup of cupsOf(scenario)) {
        const { seat } = actionsOn(scenario, cup);
        const slots = scenario.carriers.find(({ carrier }) => carrier === seat.carrier)!.slots;
        const { rom } = slots.find(({ slot }) => slot === seat.slot)!;
        expect(vehicle.probe(rom, seat.at)).toBeGreaterThan(20);
        expect(vehicle.cup(cup, seat.at)).toBeGreaterThan(20);
      }
    });
  },
);

describe('the check of a crew', () => {
  const [scenario] = scenarios as [Scenario];
  const without = (does: CrewAction['does']) => ({
    ...scenario,
    crew: scenario.crew.toSpliced(
      scenario.crew.findIndex((action) => action.does === does),
      1,
    ),
  });

  test.each(['open-visit', 'load', 'seat', 'turn', 'count', 'close-visit'] as const)(
    'notices a missing %s',
    (does) => {
      expect(faultsIn(without(does))).not.toEqual([]);
    },
  );

  test('notices a cup seated in a taken slot', () => {
    const crew = scenario.crew.map((action) => (action.does === 'seat' ? { ...action, slot: 1 } : action));
    expect(faultsIn({ ...scenario, crew }).join()).toContain('slot A 1 is taken');
  });

  test('notices actions out of order', () => {
    expect(faultsIn({ ...scenario, crew: scenario.crew.toReversed() }).join()).toContain('out of order');
  });
});

describe('morning()', () => {
  test('changes counts and temperatures with its seed', () => {
    const plan = SCENARIO_PLANS[0]!;
    const other = morning({ ...plan, seed: plan.seed + 1 });
    expect(other.crew).not.toEqual(scenarios[0]!.crew);
  });

  test('refuses a time that is not one', () => {
    expect(() => morning({ ...SCENARIO_PLANS[0]!, from: '7:00' })).toThrow('7:00 is not a day and a time');
  });
});

describe('twoCupsEach()', () => {
  test('puts a colony on both sides and leaves the strip out of the last cup', () => {
    const cups = twoCupsEach([
      ['a', 'x'],
      ['b', 'y'],
    ]);
    expect(cups.map(({ colony, kind }) => `${colony} ${kind}`)).toEqual([
      'a strip',
      'b strip',
      'a strip',
      'b no-strip',
    ]);
  });
});
