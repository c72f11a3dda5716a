import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { judgeExposure } from '../../src/exposure/judge.js';
import type { CupRuling, Observation } from '../../src/exposure/types.js';
import { type Celsius, celsius, celsiusDifference } from '../../src/units/temperature.js';
import { SAMPLE_MS, sampled } from './bruteForce.js';
import { anyCase, type Case, instant, lookUp, RULES } from './cases.js';

const rule = (
  { exposure, readings }: Case,
  map?: (reading: Observation) => Observation | null,
  rules = RULES,
): CupRuling => judgeExposure(exposure, lookUp(readings, map), rules);

const bounds = (ruling: CupRuling) => [
  ruling.coldMinutes,
  ruling.longestColdSpellMinutes,
  ruling.hotMinutes,
  ruling.longestHotSpellMinutes,
];
const EPSILON = 1e-6;
const PROPERTY = { numRuns: 300, seed: 1 };

describe('judgeExposure() on any trace', () => {
  it('has certain at most possible, observed and gaps make up the exposure, and no NaN', () => {
    const seen = new Set<string>();
    fc.assert(
      fc.property(anyCase, (any) => {
        const ruling = rule(any);
        seen.add(ruling.ruling);
        for (const { certain, possible } of bounds(ruling)) {
          expect(certain).toBeGreaterThanOrEqual(0);
          expect(certain).toBeLessThanOrEqual(possible);
          expect(possible).toBeLessThanOrEqual(ruling.exposureMinutes + EPSILON);
        }
        expect(ruling.longestColdSpellMinutes.possible).toBeLessThanOrEqual(
          ruling.coldMinutes.possible + EPSILON,
        );
        const gapMinutes = ruling.gaps.reduce((sum, gap) => sum + (gap.to - gap.from) / 60_000, 0);
        expect(ruling.observedMinutes + gapMinutes).toBeCloseTo(ruling.exposureMinutes, 9);
        for (const figure of Object.values(ruling))
          if (typeof figure === 'number') expect(Number.isFinite(figure)).toBe(true);
        expect(ruling.ruling === 'valid').toBe(ruling.reasons.length === 0);
        if (ruling.ruling !== 'valid') expect(ruling.reasons[0]).toMatch(new RegExp(`^${ruling.ruling}: `));
        for (const reason of ruling.reasons)
          expect(reason).toMatch(/^(short|long|cold|hot|unproven): .*\d+.* min/);
      }),
      PROPERTY,
    );
    expect([...seen]).toEqual(expect.arrayContaining(['short', 'cold', 'hot', 'unproven', 'valid']));
  });

  it('never raises a cold figure or lowers a hot one when the trace is warmer', () => {
    fc.assert(
      fc.property(anyCase, fc.infiniteStream(fc.double({ min: 0, max: 3, noNaN: true })), (any, warmth) => {
        const ruling = rule(any);
        const warmer = rule(any, (reading) => ({
          ...reading,
          celsius: celsius(reading.celsius + (warmth.next().value as number)),
        }));
        for (const figure of ['coldMinutes', 'longestColdSpellMinutes'] as const)
          for (const bound of ['certain', 'possible'] as const)
            expect(warmer[figure][bound]).toBeLessThanOrEqual(ruling[figure][bound] + EPSILON);
        for (const figure of ['hotMinutes', 'longestHotSpellMinutes'] as const)
          for (const bound of ['certain', 'possible'] as const)
            expect(warmer[figure][bound]).toBeGreaterThanOrEqual(ruling[figure][bound] - EPSILON);
        expect(warmer.degreeMinutesBelow ?? 0).toBeLessThanOrEqual(
          (ruling.degreeMinutesBelow ?? 0) + EPSILON,
        );
      }),
      PROPERTY,
    );
  });

  it('never turns a decided ruling into its opposite when the uncertainty shrinks', () => {
    fc.assert(
      fc.property(anyCase, fc.double({ min: 0, max: 1, noNaN: true }), (any, part) => {
        const narrowed = {
          ...any.exposure,
          seatings: any.exposure.seatings.map((seating) => ({
            ...seating,
            uncertainty: celsiusDifference(seating.uncertainty * part),
          })),
        };
        const wide = rule(any).reasons.map((reason) => reason.split(':')[0]);
        const narrow = rule({ ...any, exposure: narrowed }).reasons.map((reason) => reason.split(':')[0]);
        for (const word of ['cold', 'hot']) if (wide.includes(word)) expect(narrow).toContain(word);
        if (wide.length === 0) expect(narrow).toEqual([]);
        expect(narrow.filter((word) => word === 'unproven').length).toBeLessThanOrEqual(
          wide.filter((word) => word === 'unproven').length,
        );
      }),
      PROPERTY,
    );
  });

  it('never becomes valid when the readings of a stretch longer than a gap are taken away', () => {
    fc.assert(
      fc.property(anyCase, fc.nat(3000), fc.integer({ min: 61, max: 600 }), (any, start, length) => {
        const [from, to] = [instant(start), instant(start + length)];
        // within one seating, so that the stretch is all gap afterwards
        fc.pre(any.exposure.seatings.some((seating) => seating.from <= from && seating.to >= to));
        fc.pre(to <= any.exposure.turn);
        const fewer = rule(any, (reading) => (reading.at >= from && reading.at <= to ? null : reading));
        const ruling = rule(any);
        if (ruling.ruling !== 'valid') expect(fewer.ruling).not.toBe('valid');
        expect(fewer.coldMinutes.possible).toBeGreaterThanOrEqual(ruling.coldMinutes.possible - EPSILON);
        expect(fewer.observedMinutes).toBeLessThanOrEqual(ruling.observedMinutes + EPSILON);
      }),
      PROPERTY,
    );
  });

  const compare = (any: Case, mine: CupRuling) => {
    const slow = sampled(any.exposure, lookUp(any.readings), RULES);
    // a crossing shifts a figure by at most half a sample; spells of under a sample can be missed or joined
    const readings = Object.values(any.readings).flat().length;
    const near = ((SAMPLE_MS / 60_000) * readings) / 2;
    const expectNear = (value: number, reference: number) =>
      expect(Math.abs(value - reference)).toBeLessThan(near);
    expectNear(mine.observedMinutes, slow.observedMinutes);
    expectNear(mine.coldMinutes.certain, slow.certainCold.total);
    expectNear(mine.coldMinutes.possible, slow.possibleCold.total);
    expectNear(mine.hotMinutes.certain, slow.certainHot.total);
    expectNear(mine.hotMinutes.possible, slow.possibleHot.total);
    if (mine.degreeMinutesBelow !== null) expectNear(mine.degreeMinutesBelow, slow.degreeMinutesBelow);
    // longest spells: the same but for stretches that touch in an instant, which sampling cannot see
    expectNear(mine.longestColdSpellMinutes.possible, slow.possibleCold.longest);
    expectNear(mine.longestHotSpellMinutes.possible, slow.possibleHot.longest);
    expectNear(mine.longestColdSpellMinutes.certain, slow.certainCold.longest);
    expectNear(mine.longestHotSpellMinutes.certain, slow.certainHot.longest);
  };

  it('agrees with asking every 100 ms what the definitions say', () => {
    fc.assert(
      fc.property(anyCase, (any) => compare(awayFromLimits(any), rule(awayFromLimits(any)))),
      { numRuns: 25, seed: 7 },
    );
  });

  it('disagrees with it when the readings, the gap or the limit are wrong', () => {
    const [any] = fc
      .sample(anyCase, { numRuns: 200, seed: 7 })
      .filter((sample) => rule(sample).coldMinutes.certain > 2 && rule(sample).gaps.length > 1) as [Case];
    const good = awayFromLimits(any);
    compare(good, rule(good));
    const broken: CupRuling[] = [
      rule(good, (reading) => ({ ...reading, celsius: celsius(reading.celsius + 1) })),
      rule(good, undefined, { ...RULES, maxGapSeconds: 3600 }),
      rule(good, undefined, { ...RULES, thresholdCelsius: 10 as Celsius }),
    ];
    for (const ruling of broken) expect(() => compare(good, ruling)).toThrow();
  });
});

/** No reading sits exactly at a limit (whole sixteenths can, at U = 0.25 and the like): shifted a little. */
const awayFromLimits = (any: Case): Case => ({
  ...any,
  readings: Object.fromEntries(
    Object.entries(any.readings).map(([probe, readings]) => [
      probe,
      readings.map((reading) => ({ ...reading, celsius: celsius(reading.celsius + 0.0123) })),
    ]),
  ),
});
