import { describe, expect, test } from 'vitest';
import { PROVEN_RISE_US } from '../../../hardware/wiring/busBudget.js';
import { QUICKEST, type ResponseTimes, SLOWEST, TYPICAL } from '../../../src/emulator/oneWireTiming.js';
import { Bench, manyRoms } from '../../emulator/bench.js';
import { build, WHY_NO_BUILD } from './build.js';

/** Long enough for the first search, seven scans and a second search. */
const RUN_MS = 66_000;

const roms = manyRoms(12);

/** Each of the four windows in which a thermometer answers at either of its ends: sixteen thermometers. */
const CORNERS: readonly ResponseTimes[] = Array.from({ length: 16 }, (_, corner) => {
  const end = (window: number) => (corner & (1 << window) ? SLOWEST : QUICKEST);
  return {
    presenceDelayUs: end(0).presenceDelayUs,
    presenceUs: end(1).presenceUs,
    sampleUs: end(2).sampleUs,
    holdUs: end(3).holdUs,
    conversionMs: end(0).conversionMs,
  };
});

/** Runs a board with these thermometers, each at its own temperature, and expects every reading and no violation. */
function expectKept(times: readonly ResponseTimes[], riseUs: number, runMs: number): void {
  const probes = manyRoms(times.length).map((rom, index) => ({
    rom,
    celsius: index + 1,
    times: times[index] ?? TYPICAL,
  }));
  const bench = new Bench({ probes, riseUs }).run(runMs);
  expect([...bench.bus.violations]).toEqual([]);
  const scans = bench.scans().slice(1);
  expect(scans).toHaveLength(Math.floor(runMs / 10_000));
  for (const { of } of scans)
    for (const { rom, celsius } of probes) expect(of.get(rom)).toEqual({ status: '+', raw: 16 * celsius });
}

describe('the slots keep to the windows of the datasheet', () => {
  test.each([0, 0.5, 1, 2, 3, PROVEN_RISE_US])(
    'with a thermometer at every corner of its windows, on a line that rises in %d us',
    (riseUs) => expectKept(CORNERS, riseUs, RUN_MS),
  );

  // On a bus of its own none is masked by a neighbour that holds the line longer.
  test('with each corner alone, on lines that rise at once and slowly', () => {
    for (const times of CORNERS)
      for (const riseUs of [0, PROVEN_RISE_US]) expectKept([times], riseUs, 13_000);
  });

  test('with typical thermometers', () =>
    expectKept(
      roms.map(() => TYPICAL),
      1,
      RUN_MS,
    ));

  test.for([30, -4])('and an image that is %d us off is found out (negative control)', (error, { skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const { hex } = build(`SLOT_ERROR_US=${error}`);
    const bench = new Bench({ hex, probes: roms.map((rom) => ({ rom })) }).run(12_000);
    expect(bench.bus.violationCount).toBeGreaterThan(0);
    // The rest of the image is whole: it boots and beats.
    expect(bench.of('B')).toHaveLength(1);
    expect(bench.of('H').length).toBeGreaterThan(8);
  });
});
