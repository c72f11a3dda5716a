import fc from 'fast-check';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { figuresIn } from '../../src/exposure/figures.js';
import { followedFigures } from '../../src/exposure/followedFigures.js';
import { SeatingFold } from '../../src/exposure/seatingFold.js';
import type { Exposure, Observation } from '../../src/exposure/types.js';
import { durationMs, later, type UtcMs } from '../../src/units/time.js';
import { anyCase, RULES } from './cases.js';
import { ROUND } from './judgeRound.js';
import { at, exposure, LOAD, seating, steady, trace } from './traces.js';

const windowOf = ({ load, turn }: Exposure) => ({ from: load, to: turn });
const endingAt = (of: Exposure, turn: UtcMs): Exposure => ({
  ...of,
  turn,
  seatings: of.seatings
    .filter(({ from }) => from <= turn)
    .map((seated) => ({ ...seated, to: Math.min(seated.to, turn) as UtcMs })),
});
const putIn = (list: Observation[], reading: Observation) => {
  const place = list.findIndex((there) => there.at > reading.at);
  list.splice(place === -1 ? list.length : place, 0, reading);
};

describe('followedFigures()', () => {
  it('gives what figuresIn gives, to the last bit, while readings come late, old ones go, and time goes on and back', () => {
    const steps = { late: 0, dropped: 0, replaced: 0 };
    fc.assert(
      fc.property(
        anyCase,
        fc.array(fc.nat(99), { minLength: 400, maxLength: 400 }),
        ({ exposure: whole, readings }, dice) => {
          const held = new Map<string, Observation[]>([
            ['P', []],
            ['Q', []],
          ]);
          const waiting = Object.entries(readings)
            .flatMap(([probe, all]) => all.map((reading) => ({ probe, reading })))
            .toSorted((a, b) => a.reading.at - b.reading.at);
          const figures = followedFigures();
          let now = LOAD;
          let turn = 0;
          while (waiting.length > 0) {
            const die = dice[turn++ % dice.length]!;
            // Every tenth comes after up to twenty that were measured later.
            const late = die < 10 ? Math.min(waiting.length - 1, die * 2) : 0;
            const { probe, reading } = waiting.splice(late, 1)[0]!;
            const list = held.get(probe)!;
            if (list.length > 0 && list.at(-1)!.at > reading.at) steps.late += 1;
            putIn(list, reading);
            if (die === 50) steps.dropped += list.splice(0, 3).length;
            if (die === 51) {
              steps.replaced += 1;
              held.set(
                probe,
                list.map((one) => ({ ...one })),
              );
            }
            now = die === 52 ? later(LOAD, durationMs(0)) : (Math.max(now, reading.at) as UtcMs);
            const soFar = endingAt(whole, Math.max(LOAD, Math.min(now, whole.turn)) as UtcMs);
            const observationsOf = (of: string) => held.get(of)!;
            expect(figures(soFar, windowOf(soFar), observationsOf, RULES)).toEqual(
              figuresIn(soFar, windowOf(soFar), observationsOf, RULES),
            );
          }
        },
      ),
      { numRuns: 60, seed: 4 },
    );
    for (const times of Object.values(steps)) expect(times).toBeGreaterThan(50);
  });

  it('is behind when readings change under it in a way it is not made for', () => {
    // The control: a list may not have a reading exchanged in its middle; if that were noticed, nothing would be spared.
    const list = steady(0, 60, 20);
    const figures = followedFigures();
    const soFar = exposure(60);
    figures(soFar, windowOf(soFar), () => list, ROUND);
    list[5] = { ...list[5]!, celsius: trace([0, 5])[0]!.celsius };
    expect(figures(soFar, windowOf(soFar), () => list, ROUND).minCelsius).toBe(20); // from steady() above
    expect(figures(soFar, windowOf(soFar), () => [...list], ROUND).minCelsius).toBe(5); // from trace() above
  });

  it('begins anew with other rules and another uncertainty', () => {
    const list = steady(0, 60, 17);
    const figures = followedFigures();
    const coldIn = (soFar: Exposure, rules = ROUND) =>
      figures(soFar, windowOf(soFar), () => list, rules).spells.possibleCold.totalMinutes;
    // By hand: 17 degC is above a threshold of 16 degC; with U = 2 it may be below, and 18 degC is above 17 degC.
    expect(coldIn(exposure(60, { seatings: [seating('P', 0, 60)] }))).toBe(0);
    expect(coldIn(exposure(60, { seatings: [seating('P', 0, 60, 2)] }))).toBe(60);
    expect(coldIn(exposure(60, { seatings: [seating('P', 0, 60)] }))).toBe(0);
    const warmer = { ...ROUND, thresholdCelsius: 18 as typeof ROUND.thresholdCelsius };
    expect(coldIn(exposure(60, { seatings: [seating('P', 0, 60)] }), warmer)).toBe(60);
  });

  it('refuses two different readings at one instant each time it is asked', () => {
    const list = [...steady(0, 60, 20)];
    const figures = followedFigures();
    const soFar = exposure(60);
    const ask = () => figures(soFar, windowOf(soFar), () => list, ROUND);
    ask();
    putIn(list, { at: at(30), celsius: trace([0, 5])[0]!.celsius });
    for (const _ of [1, 2, 3]) expect(ask).toThrow(/two different readings/);
  });

  describe('by the steps it takes', () => {
    afterEach(() => {
      vi.restoreAllMocks();
    });

    it('takes each reading once for each window of an imprecise load', () => {
      const steps = vi.spyOn(SeatingFold.prototype, 'add');
      const list = steady(-20, 60, 20);
      const figures = followedFigures();
      const soFar = exposure(60, { seatings: [seating('P', -20, 60)] });
      for (const _ of [1, 2, 3])
        for (const minute of [0, -10, 10])
          figures(soFar, { from: at(minute), to: soFar.turn }, () => list, ROUND);
      // One every half minute, both ends included.
      expect(steps).toHaveBeenCalledTimes(121 + 141 + 101);
    });

    it('takes each reading once, however often it is asked', () => {
      const steps = vi.spyOn(SeatingFold.prototype, 'add');
      const list: Observation[] = [];
      const figures = followedFigures();
      const readings = steady(0, 170, 20);
      for (const reading of readings) {
        list.push(reading);
        for (const further of [0, 1000, 2000]) {
          const soFar = endingAt(exposure(180), (reading.at + further) as UtcMs);
          figures(soFar, windowOf(soFar), () => list, ROUND);
        }
      }
      expect(steps).toHaveBeenCalledTimes(readings.length);
      steps.mockClear();
      const whole = endingAt(exposure(180), readings.at(-1)!.at);
      figuresIn(whole, windowOf(whole), () => list, ROUND);
      expect(steps).toHaveBeenCalledTimes(readings.length);
    });
  });
});
