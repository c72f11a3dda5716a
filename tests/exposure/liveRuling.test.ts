import fc from 'fast-check';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { judgeExposure } from '../../src/exposure/judge.js';
import { liveRuling } from '../../src/exposure/liveRuling.js';
import { SeatingFold } from '../../src/exposure/seatingFold.js';
import type { Exposure, Observation } from '../../src/exposure/types.js';
import { durationMs, minutes, type UtcMs } from '../../src/units/time.js';
import { anyCase, type Case, RULES } from './cases.js';
import { ROUND } from './judgeRound.js';
import { at, exposure, from, seating, steady, trace } from './traces.js';

type Sent = readonly [probe: string, reading: Observation];

const sentIn = ({ readings }: Case): Sent[] =>
  Object.entries(readings).flatMap(([probe, all]) => all.map((reading): Sent => [probe, reading]));

const inOrder = (sent: readonly Sent[]) => (probe: string) =>
  sent
    .filter(([from]) => from === probe)
    .map(([, reading]) => reading)
    .toSorted((a, b) => a.at - b.at);

/** A case whose readings come in any order, some of them twice. */
const anyArrival = anyCase.chain((any) => {
  const sent = sentIn(any);
  const twice = [...sent, ...sent.slice(0, 20)];
  return fc.record({
    any: fc.constant(any),
    arrival: fc.shuffledSubarray(twice, { minLength: twice.length, maxLength: twice.length }),
    precision: fc.constantFrom(0, 1, 4),
  });
});

const withPrecision = (of: Exposure, minute: number): Exposure => ({
  ...of,
  precision: { load: minutes(minute), turn: minutes(minute) },
});

describe('liveRuling()', () => {
  it('gives the batch ruling to the last bit when a whole trace is fed late in any order', () => {
    const seen = new Set<string>();
    fc.assert(
      fc.property(anyArrival, ({ any, arrival, precision }) => {
        const stated = withPrecision(any.exposure, precision);
        const live = liveRuling(stated, RULES);
        for (const [probe, reading] of arrival) live.add(probe, reading);
        const ruling = live.ruling();
        seen.add(ruling.ruling);
        expect(ruling).toEqual(judgeExposure(stated, inOrder(arrival), RULES));
      }),
      { numRuns: 300, seed: 1 },
    );
    expect([...seen]).toEqual(expect.arrayContaining(['short', 'cold', 'hot', 'unproven']));
  });

  it('gives the batch ruling of what has come so far at every point on the way', () => {
    fc.assert(
      fc.property(anyArrival, fc.integer({ min: 1, max: 40 }), ({ any, arrival, precision }, every) => {
        const stated = withPrecision(any.exposure, precision);
        const live = liveRuling(stated, RULES);
        for (const [index, [probe, reading]] of arrival.entries()) {
          live.add(probe, reading);
          if (index % every === 0)
            expect(live.ruling()).toEqual(judgeExposure(stated, inOrder(arrival.slice(0, index + 1)), RULES));
        }
      }),
      { numRuns: 40, seed: 2 },
    );
  });

  it('follows late facts: other seatings, another load, another turn, forward and back', () => {
    fc.assert(
      fc.property(anyArrival, anyCase, fc.nat(200), ({ any, arrival }, other, when) => {
        const live = liveRuling(any.exposure, RULES);
        for (const [index, [probe, reading]] of arrival.entries()) {
          if (index === when) live.expose(other.exposure);
          live.add(probe, reading);
          if (index % 17 === 0) live.ruling();
        }
        for (const exposed of [other.exposure, any.exposure, other.exposure]) {
          live.expose(exposed);
          expect(live.ruling()).toEqual(judgeExposure(exposed, inOrder(arrival), RULES));
        }
      }),
      { numRuns: 60, seed: 3 },
    );
  });

  it('differs from the batch ruling when one reading that matters never comes', () => {
    const readings = [...steady(0, 90, 20), ...trace([90.5, 12]), ...steady(91, 180, 20)];
    const live = liveRuling(exposure(180), ROUND);
    for (const reading of readings) if (reading.at !== at(90.5)) live.add('P', reading);
    expect(live.ruling()).not.toEqual(judgeExposure(exposure(180), from(readings), ROUND));
    live.add('P', trace([90.5, 12])[0]!);
    expect(live.ruling()).toEqual(judgeExposure(exposure(180), from(readings), ROUND));
  });

  it('turns an unproven cup into a valid one when the missing readings come late', () => {
    const live = liveRuling(exposure(180), ROUND);
    for (const reading of [...steady(0, 60, 30), ...steady(80, 180, 30)]) live.add('P', reading);
    expect(live.ruling()).toMatchObject({ ruling: 'unproven', coldMinutes: { certain: 0, possible: 20 } });
    for (const reading of steady(60, 80, 30).toReversed()) live.add('P', reading);
    expect(live.ruling()).toMatchObject({ ruling: 'valid', gaps: [] });
  });

  it('refuses two different readings at one instant of a seating, each time it is asked, and only there', () => {
    const live = liveRuling(exposure(20, { seatings: [seating('P', 0, 10)] }), ROUND);
    for (const reading of [...steady(0, 20, 30), ...trace([15, 29])]) live.add('P', reading);
    expect(live.ruling().observedMinutes).toBe(10);
    live.add('P', trace([5, 29])[0]!);
    const sentence = /probe P has two different readings at 2026-05-01T06:05:00\.000Z, 30 and 29/;
    expect(() => live.ruling()).toThrow(sentence);
    expect(() => live.ruling()).toThrow(sentence);
  });

  describe('by the steps it takes', () => {
    afterEach(() => {
      vi.restoreAllMocks();
    });

    it('takes one for a reading in order, few for a late one, none for a later turn', () => {
      const steps = vi.spyOn(SeatingFold.prototype, 'add');
      const soFar = (turn: number) => exposure(turn, { seatings: [seating('P', 0, 600)] });
      const live = liveRuling(soFar(0), ROUND);
      const readings = steady(0, 500, 30);
      for (const reading of readings) {
        live.add('P', reading);
        live.expose({ ...soFar(0), turn: (reading.at + durationMs(1000)) as UtcMs });
        live.ruling();
      }
      expect(steps).toHaveBeenCalledTimes(readings.length);
      steps.mockClear();
      live.add('P', trace([490.1, 30])[0]!);
      live.ruling();
      expect(steps.mock.calls.length).toBeLessThan(64 + 30);
      steps.mockClear();
      live.expose(soFar(550));
      live.ruling();
      expect(steps).not.toHaveBeenCalled();
    });
  });
});
