import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  ICE_OFFSET_MAX,
  ICE_READINGS_MIN,
  ICE_SPREAD_MAX,
  iceCheck,
  offsetAt,
  twoPointCalibration,
} from '../../src/exposure/calibration.js';
import { LAG_STEP_MIN } from '../../src/exposure/lag.js';
import { BATH, CUPS, placementMap } from '../../src/exposure/placement.js';
import { prewarmMinutes } from '../../src/exposure/prewarm.js';
import { expandedUncertainty, U_PLACEMENT_UNMAPPED } from '../../src/exposure/uncertainty.js';
import { WARM_MARGIN, WARM_RISE_MIN, WARM_SCANS_MIN } from '../../src/exposure/warmedProbe.js';
import { celsius, celsiusDifference, fromSixteenths } from '../../src/units/temperature.js';
import { inMinutes, later, seconds } from '../../src/units/time.js';
import { LOAD } from './traces.js';

const PAGE = readFileSync(new URL('../../docs/calibrate.md', import.meta.url), 'utf8');

const cellsOf = (row: string): string[] =>
  row
    .split('|')
    .slice(1, -1)
    .map((cell) => cell.replaceAll('*', '').trim());
const rowsAfter = (header: string): string[][] => {
  const lines = PAGE.slice(PAGE.indexOf(header)).split('\n').slice(2);
  return lines.slice(0, lines.indexOf('')).map(cellsOf);
};

const check = (sixteenths: readonly number[]) =>
  iceCheck(
    sixteenths.map((value, index) => ({
      at: later(LOAD, seconds(10 * index)),
      celsius: fromSixteenths(value),
    })),
  );
const example = (/```text\n([\d ]+)\n/.exec(PAGE)?.[1] ?? '').split(' ').map(Number);

describe('docs/calibrate.md', () => {
  it('gives the figures of its ice check', () => {
    const { offset, standardDeviation, uncertainty, budget } = check(example);
    expect(PAGE).toContain(
      `offset ${offset.toFixed(3)} °C. Standard deviation ${standardDeviation.toFixed(3)} °C`,
    );
    expect(rowsAfter('| term |').map(([, figure]) => figure)).toEqual(
      [...budget.map(({ standardUncertainty }) => standardUncertainty), uncertainty].map((u) => u.toFixed(3)),
    );
    const expanded = expandedUncertainty(celsiusDifference(0.103), U_PLACEMENT_UNMAPPED);
    expect(PAGE).toContain(`= ${expanded.toFixed(3)} °C`);
  });

  it('would not with one reading changed', () => {
    expect(PAGE).not.toContain(`offset ${check([...example.slice(1), 3]).offset.toFixed(3)} °C`);
  });

  it('gives the figures of its two points', () => {
    const [ice, bath] = rowsAfter('| | reference |').map(([, ...cells]) => {
      const [reference, referenceU, reading, readingU] = cells.map(Number) as [
        number,
        number,
        number,
        number,
      ];
      return {
        reference: celsius(reference),
        referenceUncertainty: celsiusDifference(referenceU),
        reading: celsius(reading),
        readingUncertainty: celsiusDifference(readingU),
      };
    });
    const { offset, uncertainty } = offsetAt(twoPointCalibration(ice!, bath!), celsius(16));
    expect(PAGE).toContain(`offset ${offset.toFixed(3)} °C, u ${uncertainty.toFixed(3)} °C`);
  });

  it('names the limits that are used', () => {
    expect(PAGE).toContain(`at least ${ICE_READINGS_MIN} readings`);
    expect(PAGE).toContain(`above ${ICE_SPREAD_MAX} °C`);
    expect(PAGE).toContain(`beyond ±${ICE_OFFSET_MAX} °C`);
  });

  it('gives the figures of its ten places', () => {
    // Ten values with a sample standard deviation of 0.1: 5 at each of +-d, d = 0.1 sqrt(9/10) (by hand).
    const d = 0.1 * Math.sqrt(0.9);
    const apart = (sign: (index: number) => number) => ({
      byProbe: new Map(
        Array.from({ length: 10 }, (_, index) => [`p${index}`, celsiusDifference(sign(index))] as const),
      ),
      level: celsius(18),
    });
    const { uncertainty, budget } = placementMap(
      apart(() => 0),
      apart((index) => (index % 2 ? d : -d)),
    );
    const [spread, resolution, bees] = budget.map(({ standardUncertainty }) =>
      standardUncertainty.toFixed(3),
    );
    expect(PAGE).toContain(
      `= ${spread}, with ${resolution} and ${bees} together ${uncertainty.toFixed(3)} °C`,
    );
    const expanded = expandedUncertainty(celsiusDifference(0.103), uncertainty);
    expect(PAGE).toContain(`= ${expanded.toFixed(3)} °C. A map may also turn out worse`);
  });

  it('names the limits of warm hand, places and lag, and the pre-warming they lead to', () => {
    expect(PAGE).toContain(`rose by at least ${WARM_RISE_MIN} °C`);
    expect(PAGE.replaceAll('\n', ' ')).toContain(
      `at least ${WARM_MARGIN} times as much as any other (j), in ${WARM_SCANS_MIN} scans running`,
    );
    const limit = (row: string) => rowsAfter('| refused | bath |').find(([what]) => what!.startsWith(row))!;
    expect(limit('shorter').slice(1)).toEqual([BATH, CUPS].map(({ lasts }) => `${inMinutes(lasts)} min`));
    expect(limit('the mean drifts').slice(1)).toEqual([BATH, CUPS].map(({ driftMax }) => `${driftMax} °C`));
    expect(limit('a probe moves').slice(1)).toEqual([BATH, CUPS].map(({ scatterMax }) => `${scatterMax} °C`));
    expect(PAGE.replaceAll('\n', ' ')).toContain(`one step of at least ${LAG_STEP_MIN} °C`);
    expect(PAGE).toContain(`${prewarmMinutes(240).toFixed(1)} min`);
  });
});
