import { describe, expect, it } from 'vitest';
import { judgeExposure } from '../../src/exposure/judge.js';
import { liveState } from '../../src/exposure/live.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { Exposure, Observation } from '../../src/exposure/types.js';
import { ICE_CHECKED } from '../../src/exposure/uncertainty.js';
import { celsius } from '../../src/units/temperature.js';
import { oneRide } from './oneRide.js';
import { at, exposure, from, LOAD, seating, steady, trace } from './traces.js';

const SEATED = 1;

/** A yard at 10 degC in the morning: the door open while cups are loaded, then a heated cabin and some sun. */
function morning(carrierCelsius: number): { cup: (minute: number) => number; readings: Observation[] } {
  const { cup, readings } = oneRide(SEATED, 0, {
    end: at(180),
    outside: [{ at: LOAD, celsius: celsius(10) }],
    heater: [{ from: at(10), to: at(180), celsius: celsius(24) }],
    doors: [{ from: LOAD, to: at(10) }],
    sun: [{ from: at(60), to: at(180), watts: 100 }],
    startCelsius: celsius(20),
    carrierStartCelsius: celsius(carrierCelsius),
    seed: 3,
  });
  return { cup, readings: readings(SEATED, 180) };
}

const ride = (turn = 180): Exposure => exposure(turn, { seatings: [seating('P', SEATED, 180, ICE_CHECKED)] });
const REMARK = /^probe warming up: in the first .* min of a seating the readings rose steadily from .* °C/;

describe('a carrier that was not pre-warmed, on a morning of 10 degC', () => {
  const cold = morning(10);
  const warm = morning(25);
  const ruling = (readings: readonly Observation[]) => judgeExposure(ride(), from(readings), DEFAULT_RULES);

  it('makes the first minutes look cold though the cup is warm all the time', () => {
    const possiblyCold = DEFAULT_RULES.thresholdCelsius + ICE_CHECKED;
    for (let minute = 0; minute <= 180; minute += 1) expect(cold.cup(minute)).toBeGreaterThan(possiblyCold);
    expect(ruling(cold.readings).coldMinutes.certain).toBeGreaterThan(0.5);
    expect(ruling(warm.readings).coldMinutes.certain).toBe(0);
  });

  it('is remarked on, and the remark changes no ruling', () => {
    const { ruling: word, remarks, coldMinutes, reasons } = ruling(cold.readings);
    expect(remarks.filter((remark) => REMARK.test(remark))).toHaveLength(1);
    expect(coldMinutes.certain).toBeLessThan(5);
    expect(word).toBe(reasons.length === 0 ? 'valid' : reasons[0]?.split(':')[0]);
    expect(ruling(warm.readings).remarks.filter((remark) => REMARK.test(remark))).toEqual([]);
  });

  it('is what the screen advises against while the probe warms up, and no longer', () => {
    const live = (minute: number, readings: readonly Observation[]) =>
      liveState(ride(minute), from(readings.filter((reading) => reading.at <= at(minute))), DEFAULT_RULES);
    expect(live(2, cold.readings).advice).toMatch(/^probe still warming up: .* pre-warm carrier and probes$/);
    expect(live(2, cold.readings).alarm?.text).toMatch(/move it inwards \(probe still warming up\)$/);
    expect(live(15, cold.readings)).toMatchObject({ advice: null, alarm: null, word: 'warm' });
    expect(live(2, warm.readings)).toMatchObject({ advice: null, alarm: null });
  });
});

describe('the remark on a probe that warms up', () => {
  const remarksOn = (readings: readonly Observation[], change: Partial<Exposure> = {}) =>
    judgeExposure(exposure(180, change), from(readings), DEFAULT_RULES).remarks.filter((remark) =>
      REMARK.test(remark),
    );
  const rise = (first: number, minutes: number, to = 30) =>
    Array.from(
      { length: minutes * 2 + 1 },
      (_, index) => [index / 2, first + ((to - first) * index) / (minutes * 2)] as const,
    );

  it('is made for a steady rise from cold in the first quarter of an hour', () => {
    expect(remarksOn([...trace(...rise(10, 10)), ...steady(10.5, 180, 30)])).toHaveLength(1);
  });

  it.each([
    ['from warm', trace(...rise(16, 10))],
    ['that takes longer', trace(...rise(10, 60))],
    ['that breaks off', trace(...rise(8, 10)).toSpliced(3, 1, ...trace([1.5, 8]))],
    ['of less than two degrees', trace(...rise(14.5, 5, 15.7))],
  ])('is not made for a rise %s', (_, readings) => {
    const last = readings.at(-1)!;
    const rest = steady(61, 180, last.celsius);
    expect(remarksOn([...readings, ...rest])).toEqual([]);
  });

  it('is not made when it rises later', () => {
    const later = trace(...rise(10, 10)).map((reading) => ({
      ...reading,
      at: at((reading.at - LOAD) / 60_000 + 60),
    }));
    expect(remarksOn([...steady(0, 59.5, 30), ...later, ...steady(70.5, 180, 30)])).toEqual([]);
  });
});
