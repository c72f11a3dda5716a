import { existsSync, readdirSync, rmSync } from 'node:fs';
import fc from 'fast-check';
import { afterEach, describe, expect, it } from 'vitest';
import { ReadingsOnDisk } from '../../../src/cli/csv/readingsOnDisk.js';
import { eachInNewFolder } from '../../tools/newFolder.js';

let folder: string;
let before: string | undefined;
eachInNewFolder((fresh) => {
  folder = fresh;
  before = process.env['TMPDIR'];
  process.env['TMPDIR'] = folder;
});
afterEach(() => {
  if (before === undefined) delete process.env['TMPDIR'];
  else process.env['TMPDIR'] = before;
});

describe('ReadingsOnDisk', () => {
  it.each([1, 3, 1000])('sorts by time, then by line, with %d readings a run', (runRows) => {
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(50), fc.nat(5), fc.integer()), { maxLength: 60 }), (readings) => {
        const sorter = new ReadingsOnDisk(runRows);
        for (const [line, [at, probe, celsius]] of readings.entries()) sorter.add(at, probe, celsius, line);
        const sorted = [...sorter.sorted()].length;
        expect(sorted).toBe(readings.length);
        const again = new ReadingsOnDisk(runRows);
        for (const [line, [at, probe, celsius]] of readings.entries()) again.add(at, probe, celsius, line);
        const rows: number[][] = [];
        for (const { at, probe, celsius, line } of again.sorted()) rows.push([at, probe, celsius, line]);
        expect(rows).toEqual(
          readings
            .map(([at, probe, celsius], line) => [at, probe, celsius, line])
            .toSorted((a, b) => a[0]! - b[0]! || a[3]! - b[3]!),
        );
        sorter.close();
        again.close();
      }),
      { numRuns: 60, seed: 1 },
    );
    expect(readdirSync(folder)).toEqual([]);
  });

  it('reads runs back that are longer than what it reads at once', () => {
    const sorter = new ReadingsOnDisk(10_000);
    const count = 35_000;
    for (let line = 0; line < count; line += 1) sorter.add((line * 7919) % count, 0, 0, line);
    let next = 0;
    for (const { at } of sorter.sorted()) if (at === next) next += 1;
    expect(next).toBe(count);
    sorter.close();
  });

  it('touches the disk only when one run is not enough, and leaves nothing there', () => {
    const sorter = new ReadingsOnDisk(4);
    for (let line = 0; line < 4; line += 1) sorter.add(0, 0, 0, line);
    expect(readdirSync(folder)).toEqual([]);
    sorter.add(0, 0, 0, 4);
    expect(readdirSync(folder)).toHaveLength(1);
    sorter.close();
    expect(readdirSync(folder)).toEqual([]);
  });

  it('says what it needs when the temporary folder cannot hold them', () => {
    rmSync(folder, { recursive: true });
    expect(existsSync(folder)).toBe(false);
    const sorter = new ReadingsOnDisk(1);
    sorter.add(0, 0, 0, 2);
    expect(() => sorter.add(0, 0, 0, 3)).toThrow(
      /not in order of time and cannot be sorted in .* \(ENOENT\); free 32 bytes a reading there/,
    );
    sorter.close();
  });
});
