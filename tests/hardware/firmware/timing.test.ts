import { describe, expect, test } from 'vitest';
import { PROVEN_RISE_US } from '../../../hardware/wiring/busBudget.js';
import { QUICKEST, SLOWEST, TYPICAL } from '../../../src/emulator/oneWireTiming.js';
import { Bench, manyRoms } from '../../emulator/bench.js';
import { build, WHY_NO_BUILD } from './build.js';

/** Long enough for the first search, seven scans and a second search. */
const RUN_MS = 66_000;

const roms = manyRoms(12);

describe('the slots keep to the windows of the datasheet', () => {
  test.each([
    ['typical', [TYPICAL], 1],
    ['the quickest', [QUICKEST], 0],
    ['the slowest', [SLOWEST], 1],
    ['mixed', [TYPICAL, QUICKEST, SLOWEST], 1],
    ['slow-rising', [TYPICAL, QUICKEST], PROVEN_RISE_US],
  ] as const)('with %s thermometers', (_name, times, riseUs) => {
    const probes = roms.map((rom, index) => ({
      rom,
      celsius: index,
      times: times[index % times.length] ?? TYPICAL,
    }));
    const bench = new Bench({ probes, riseUs }).run(RUN_MS);
    expect([...bench.bus.violations]).toEqual([]);
    expect(bench.scans()).toHaveLength(7);
    for (const { of } of bench.scans().slice(1))
      for (const [index, rom] of roms.entries())
        expect(of.get(rom)).toEqual({ status: '+', raw: 16 * index });
  });

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
