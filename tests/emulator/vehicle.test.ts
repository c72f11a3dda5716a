import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { PHYSICS, type Physics } from '../../src/emulator/physics.js';
import type { CrewAction } from '../../src/emulator/scenario.js';
import { inventedRom } from '../../src/emulator/scenarios/carriers.js';
import { createVehicle, type Ride } from '../../src/emulator/vehicle.js';
import { parseCarrierId, parseCupLabel, parseVisitId } from '../../src/units/ids.js';
import { celsius } from '../../src/units/temperature.js';
import { later, minutes, seconds, type UtcMs, utcMs } from '../../src/units/time.js';

const START = utcMs(Date.UTC(2026, 4, 12, 12));
const CARRIER = parseCarrierId('A')!;
const CUP = parseCupLabel('cup-1')!;
const OTHER = parseCupLabel('cup-2')!;
const ROMS = [1, 2].map((serial) => inventedRom([serial, 0, 0, 1])) as [
  ReturnType<typeof inventedRom>,
  ReturnType<typeof inventedRom>,
];
const atMinute = (m: number): UtcMs => later(START, minutes(m));

/** Nothing random, every slot alike, so that the closed forms hold. */
const PLAIN: Physics = { ...PHYSICS, slotSpread: 0, probeOffsetCelsiusMax: 0, probeNoiseCelsiusMax: 0 };

const load = (cup: typeof CUP, at: UtcMs): CrewAction => ({
  at,
  does: 'load',
  visit: parseVisitId('v')!,
  cup,
  kind: 'strip',
  colony: 'c',
  group: null,
});
const seat = (cup: typeof CUP, slot: number, at: UtcMs): CrewAction => ({
  at,
  does: 'seat',
  cup,
  carrier: CARRIER,
  slot,
});

/** A ride of two slots and two cups of 300 bees in constant outside air, heater off unless said. */
function ride(change: Partial<Ride> & { draught?: number; degrees?: number; hours?: number } = {}): Ride {
  const { draught = 0, degrees = 12, hours = 6, ...rest } = change;
  return {
    start: START,
    end: atMinute(hours * 60),
    outside: [{ at: START, celsius: celsius(degrees) }],
    heater: [],
    startCelsius: celsius(25),
    carriers: [
      {
        carrier: CARRIER,
        slots: ROMS.map((rom, i) => ({ slot: i + 1, rom, draughtWattsPerKelvin: draught })),
      },
    ],
    cups: [
      { cup: CUP, bees: 300 },
      { cup: OTHER, bees: 300 },
    ],
    crew: [load(CUP, START), load(OTHER, START), seat(CUP, 1, atMinute(2)), seat(OTHER, 2, atMinute(2))],
    seed: 1,
    ...rest,
  };
}

describe('createVehicle()', () => {
  test('ends at the balance of the bees and the outside air', () => {
    const vehicle = createVehicle(ride({ hours: 48 }), PLAIN);
    // Carrier 12 + 2 * 0.3 W / 0.6 W/K = 13; cup 13 + 0.3 W / 0.07 W/K (by hand)
    expect(vehicle.cup(CUP, atMinute(48 * 60))).toBeCloseTo(13 + 0.3 / 0.07, 3);
    expect(vehicle.probe(ROMS[0], atMinute(48 * 60))).toBeCloseTo(13 + 0.3 / 0.07, 3);
  });

  test('cools a cup in a draughty slot further, to its own balance', () => {
    const vehicle = createVehicle(ride({ hours: 48, draught: 0.15 }), PLAIN);
    // Cup x, carrier y: 0.07 (x - y) + 0.15 (x - 12) = 0.3 and 2 * 0.07 (x - y) = 0.6 (y - 12) (by hand, over 12)
    const y = (0.14 * (0.3 / 0.22)) / (0.74 - (0.14 * 0.07) / 0.22);
    expect(vehicle.cup(CUP, atMinute(48 * 60))).toBeCloseTo(12 + (0.3 + 0.07 * y) / 0.22, 3);
  });

  test('holds a cup of bees several degrees above its carrier, and an empty cup not', () => {
    const at = atMinute(48 * 60);
    const bees = createVehicle(ride({ hours: 48 }), PLAIN).cup(CUP, at);
    const none = createVehicle(
      ride({ hours: 48, cups: [CUP, OTHER].map((cup) => ({ cup, bees: 0 })) }),
      PLAIN,
    ).cup(CUP, at);
    expect(bees - none).toBeGreaterThan(4);
    expect(none).toBeCloseTo(12, 3);
  });

  test('heats the cabin to the balance of heater and loss while the heater is on, and no longer', () => {
    const heated = ride({
      hours: 60,
      cups: [CUP, OTHER].map((cup) => ({ cup, bees: 0 })),
      heater: [{ from: START, to: atMinute(30 * 60), celsius: celsius(23) }],
    });
    const vehicle = createVehicle(heated, PLAIN);
    // (40 W/K * 12 degC + 400 W/K * 23 degC) / 440 W/K = 22 degC (by hand)
    expect(vehicle.cup(CUP, atMinute(30 * 60))).toBeCloseTo(22, 2);
    expect(vehicle.cup(CUP, atMinute(60 * 60))).toBeCloseTo(12, 2);
  });

  test('cools the cabin faster while a door is open, and warms it in the sun', () => {
    const empty = { hours: 60, cups: [CUP, OTHER].map((cup) => ({ cup, bees: 0 })) };
    const whole = { from: START, to: atMinute(60 * 60) };
    const sunny = createVehicle(ride({ ...empty, sun: [{ ...whole, watts: 400 }] }), PLAIN);
    // 400 W / 40 W/K = 10 degrees above the outside; with 200 W/K more through the door 400 / 240 (by hand)
    expect(sunny.cup(CUP, atMinute(60 * 60))).toBeCloseTo(12 + 10, 2);
    const open = createVehicle(ride({ ...empty, doors: [whole], sun: [{ ...whole, watts: 400 }] }), PLAIN);
    expect(open.cup(CUP, atMinute(60 * 60))).toBeCloseTo(12 + 400 / 240, 2);
    const left = createVehicle(ride({ ...empty, doors: [{ from: START, to: START }] }), PLAIN);
    expect(left.cup(CUP, atMinute(30))).toBe(createVehicle(ride(empty), PLAIN).cup(CUP, atMinute(30)));
  });

  test('starts carriers and probes colder than the cabin when they were not pre-warmed', () => {
    const vehicle = createVehicle(ride({ carrierStartCelsius: celsius(10), crew: [] }), PLAIN);
    expect(vehicle.probe(ROMS[0], START)).toBe(10);
  });

  test('lets a probe follow constant air as a first-order lag', () => {
    // A cabin and carrier of no inertia stand at 10 degC after the first steps; then the excess falls by e in 300 s.
    const quick = { ...PLAIN, probeSeconds: 300, carrierJoulesPerKelvin: 1e-3, cabinJoulesPerKelvin: 1e-3 };
    const vehicle = createVehicle(ride({ degrees: 10, startCelsius: celsius(20), crew: [] }), quick);
    const excess = (s: number) => vehicle.probe(ROMS[0], later(START, seconds(s))) - 10;
    expect(excess(60)).toBeGreaterThan(8);
    expect(excess(360) / excess(60)).toBeCloseTo(Math.exp(-1), 9);
    expect(excess(660) / excess(60)).toBeCloseTo(Math.exp(-2), 9);
  });

  test('keeps a cup hive-warm until it is loaded, and cools it in the hand', () => {
    const vehicle = createVehicle(
      ride({ crew: [load(CUP, atMinute(30)), seat(CUP, 1, atMinute(33))], cups: [{ cup: CUP, bees: 300 }] }),
      PLAIN,
    );
    expect(vehicle.cup(CUP, atMinute(30))).toBe(PHYSICS.hiveCelsius);
    // Towards 12 + 0.3 / 0.15 = 14 degC with 120 / 0.15 = 800 s, for 180 s (by hand)
    expect(vehicle.cup(CUP, atMinute(33))).toBeCloseTo(14 + 18 * Math.exp(-180 / 800), 6);
  });

  test('reads the carrier in an empty slot and the cup in a taken one', () => {
    const moved: CrewAction = { at: atMinute(60), does: 'move', cup: CUP, carrier: CARRIER, slot: 2 };
    const vehicle = createVehicle(
      ride({ crew: [load(CUP, START), seat(CUP, 1, atMinute(2)), moved], cups: [{ cup: CUP, bees: 300 }] }),
      PLAIN,
    );
    const difference = (m: number) =>
      vehicle.probe(ROMS[0], atMinute(m)) - vehicle.probe(ROMS[1], atMinute(m));
    expect(difference(59)).toBeGreaterThan(3);
    expect(difference(120)).toBeLessThan(-3);
  });

  test('takes a lifted cup and a turned cup out of their slots', () => {
    const out = (does: 'lift' | 'turn') =>
      createVehicle(
        ride({ crew: [load(CUP, START), seat(CUP, 1, atMinute(2)), { at: atMinute(60), does, cup: CUP }] }),
        PLAIN,
      );
    // 0.3 W of bees over 0.15 W/K above 12 degC outside; no bees once turned (by hand)
    expect(out('lift').cup(CUP, atMinute(360))).toBeCloseTo(14, 3);
    expect(out('turn').cup(CUP, atMinute(360))).toBeCloseTo(12, 3);
  });

  test('gives equal temperatures in every instance, in whatever order they are asked', () => {
    const asked = createVehicle(ride());
    const again = createVehicle(ride());
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(6 * 3_600_000), fc.nat(1)), { maxLength: 40 }), (queries) => {
        const answer = ([ms, i]: [number, number]) => [
          asked.probe(ROMS[i as 0 | 1], utcMs(START + ms)),
          asked.cup(i ? OTHER : CUP, utcMs(START + ms)),
        ];
        const forward = queries.map(answer);
        const backward = queries
          .toReversed()
          .map(([ms, i]) => [
            again.probe(ROMS[i as 0 | 1], utcMs(START + ms)),
            again.cup(i ? OTHER : CUP, utcMs(START + ms)),
          ]);
        expect(backward.toReversed()).toEqual(forward);
      }),
    );
  });

  test('gives every probe a fixed error of its own and noise, both small', () => {
    const noisy = createVehicle(ride({ crew: [] }));
    const clean = createVehicle(ride({ crew: [] }), PLAIN);
    const errors = (rom: (typeof ROMS)[0]) =>
      Array.from({ length: 300 }, (_, i) => later(START, seconds(i * 10))).map(
        (at) => noisy.probe(rom, at) - clean.probe(rom, at),
      );
    for (const rom of ROMS) {
      const all = errors(rom);
      const spread = Math.max(...all) - Math.min(...all);
      expect(spread).toBeGreaterThan(PHYSICS.probeNoiseCelsiusMax);
      expect(spread).toBeLessThan(2 * PHYSICS.probeNoiseCelsiusMax);
      expect(Math.max(...all.map(Math.abs))).toBeLessThan(0.5);
    }
    const mean = (all: number[]) => all.reduce((sum, error) => sum + error, 0) / all.length;
    expect(Math.abs(mean(errors(ROMS[0])) - mean(errors(ROMS[1])))).toBeGreaterThan(0.01);
  });

  test('holds the first temperatures before the start and the last after the end', () => {
    const vehicle = createVehicle(ride(), PLAIN);
    expect(vehicle.probe(ROMS[0], atMinute(-10))).toBe(vehicle.probe(ROMS[0], START));
    expect(vehicle.cup(CUP, atMinute(400))).toBe(vehicle.cup(CUP, atMinute(360)));
  });

  test('refuses a taken slot and whatever is not part of the ride', () => {
    const twice = [
      load(CUP, START),
      load(OTHER, START),
      seat(CUP, 1, atMinute(2)),
      seat(OTHER, 1, atMinute(3)),
    ];
    expect(() => createVehicle(ride({ crew: twice }))).toThrow('slot 1 of carrier A is taken');
    expect(() => createVehicle(ride({ crew: [seat(CUP, 3, START)] }))).toThrow('no slot 3 in carrier A');
    expect(() => createVehicle(ride()).probe(inventedRom([9, 9, 9, 9]), START)).toThrow('no probe 28-09');
    expect(() => createVehicle(ride()).cup(parseCupLabel('cup-9')!, START)).toThrow('no cup cup-9');
  });
});
