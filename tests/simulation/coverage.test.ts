import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  coverageGrid,
  coverageTable,
  looksGrid,
  looksTable,
  pairedGrid,
  pairedTable,
  RHOS,
  seasonList,
  seasonTable,
} from './tables.js';

/**
 * The intervals on invented yards whose truth is known. Seeds and numbers of runs are fixed, so the figures are
 * always the same, and docs/statistics.md shows them. The bounds are judgement; a run of 4000 yards tells a
 * coverage of .91 from one of .92 with two standard errors of .009.
 */
const PAGE = readFileSync(new URL('../../docs/statistics.md', import.meta.url), 'utf8');
const least = (figures: readonly number[]): number => Math.min(...figures);

describe('clusteredEfficacy() on ten cups of a negative binomial number of mites', () => {
  const grid = coverageGrid('varying');

  it('holds the true efficacy at least 91 times in 100 everywhere', () => {
    expect(least(grid.flat().map(({ clustered }) => clustered))).toBeGreaterThanOrEqual(0.91);
  });

  it('would fail that with every mite taken as independent, wherever cups differ', () => {
    for (const row of grid)
      for (const [i, { naive }] of row.entries()) if ((RHOS[i] ?? 0) > 0) expect(naive).toBeLessThan(0.91);
  });

  it('is shown in docs/statistics.md as it is', () => {
    expect(PAGE).toContain(coverageTable(grid));
  });
});

describe('clusteredEfficacy() on ten cups of eight mites', () => {
  const grid = coverageGrid('eight');

  it('holds the true efficacy at least 94 times in 100 everywhere', () => {
    expect(least(grid.flat().map(({ clustered }) => clustered))).toBeGreaterThanOrEqual(0.94);
  });

  it('would fail that with every mite taken as independent, wherever cups differ', () => {
    for (const row of grid)
      for (const [i, { naive }] of row.entries()) if ((RHOS[i] ?? 0) > 0) expect(naive).toBeLessThan(0.94);
  });

  it('is shown in docs/statistics.md as it is', () => {
    expect(PAGE).toContain(coverageTable(grid));
  });
});

describe('levelOfLook() on a yard that lies on the line', () => {
  const grid = looksGrid();
  const [none = [], planned = [], soFar = []] = grid.map((row) => row.map(({ clustered }) => clustered));

  it('keeps false decisions within 5 in 100 when the looks share the 5 %', () => {
    expect(Math.max(...planned)).toBeLessThanOrEqual(0.05);
  });

  it('would not if every look had the full level', () => {
    expect(none.at(-1)).toBeGreaterThan(0.1);
  });

  it('does not when only the looks so far are known, though better than nothing', () => {
    expect(soFar.at(-1)).toBeGreaterThan(0.05);
    expect(soFar.at(-1)).toBeLessThan(none.at(-1) ?? 0);
  });

  it('would not with every mite taken as independent, shared or not', () => {
    expect(least(grid.flat().map(({ naive }) => naive))).toBeGreaterThan(0.1);
  });

  it('is shown in docs/statistics.md as it is', () => {
    expect(PAGE).toContain(looksTable(grid));
  });
});

describe('pairedDifference() on two arms', () => {
  const grid = pairedGrid();

  it('holds the true difference at least 94 times in 100', () => {
    expect(least(grid.flat())).toBeGreaterThanOrEqual(0.94);
  });

  it('is shown in docs/statistics.md as it is', () => {
    expect(PAGE).toContain(pairedTable(grid));
  });
});

describe('seasonReport() on yards that differ', () => {
  const list = seasonList();

  it('has intervals that hold the middle yard and the share below the line', () => {
    for (const { middle, share } of list) expect(least([middle, share])).toBeGreaterThanOrEqual(0.92);
  });

  it('says the share of yards below the line better than either count', () => {
    const { trueShare, meanEstimate, meanCountOfVerdicts, meanCountOfEstimates } = list.at(-1)!;
    const off = (said: number): number => Math.abs(said - trueShare);
    expect(off(meanEstimate)).toBeLessThan(off(meanCountOfVerdicts));
    expect(off(meanEstimate)).toBeLessThan(off(meanCountOfEstimates));
  });

  it('is shown in docs/statistics.md as it is', () => {
    expect(PAGE).toContain(seasonTable(list));
  });
});
