import { describe, expect, test } from 'vitest';
import type { Fault } from '../../../src/emulator/faults.js';
import { Bench, manyRoms, ROM_OF_DS18S20, ROMS } from '../../emulator/bench.js';

const sorted = (roms: Iterable<string>) => [...roms].sort();

describe('the search finds every probe', () => {
  test.each([1, 2, 12, 16])('of %d', (count) => {
    const roms = manyRoms(count);
    const bench = new Bench({ probes: roms.map((rom) => ({ rom })) }).run(2500);
    expect(bench.tables()).toHaveLength(1);
    expect(sorted(bench.tables()[0]?.roms.values() ?? [])).toEqual(sorted(roms));
    expect(bench.of('P')).toHaveLength(Math.ceil(count / 4));
    expect(
      bench.of('P').every((line) => line.fields[1] === count.toString(16).toUpperCase().padStart(2, '0')),
    ).toBe(true);
  });

  test('with the ROM ids of real parts and clones, both families mixed', () => {
    const roms = [...ROMS, ROM_OF_DS18S20];
    const bench = new Bench({ probes: roms.map((rom) => ({ rom })) }).run(2500);
    expect(sorted(bench.tables()[0]?.roms.values() ?? [])).toEqual(sorted(roms));
  });

  test('but takes no chip that is not a thermometer', () => {
    const stranger = '02-1C-B8-01-00-00-00-A2'; // application note 27, worked example: family 02h
    const bench = new Bench({ probes: [{ rom: stranger }, { rom: ROMS[0] }] }).run(2500);
    expect([...(bench.tables()[0]?.roms.values() ?? [])]).toEqual([ROMS[0]]);
  });

  test('and invents none while bits flip at random', () => {
    const roms = manyRoms(6);
    const faults: Fault[] = [{ kind: 'bit-flips', fromMs: 0, toMs: 200_000 }];
    const bench = new Bench({ probes: roms.map((rom) => ({ rom })), faults }).run(200_000);
    const found = bench.tables().flatMap((table) => [...table.roms.values()]);
    expect(found.length).toBeGreaterThan(0);
    for (const rom of found) expect(roms).toContain(rom);
  });
});

describe('the table of probes', () => {
  const away = (rom: string, fromMs: number, toMs: number): Fault => ({
    kind: 'loose-lead',
    rom,
    fromMs,
    toMs,
  });

  test('gets a new number when a new probe turns up, and the old ones keep their index', () => {
    const [first, second, late] = manyRoms(3) as [string, string, string];
    const bench = new Bench({
      probes: [{ rom: first }, { rom: second }, { rom: late, celsius: 7 }],
      faults: [away(late, 0, 30_000)],
    }).run(85_000);
    const [before, after] = bench.tables();
    expect(bench.tables().map(({ table }) => table)).toEqual([1, 2]);
    expect(before?.roms.size).toBe(2);
    expect([...(after?.roms ?? [])]).toEqual([...(before?.roms ?? []), [2, late]]);
    // Only the new one is at its first conversion.
    expect(bench.statuses(first)).toMatch(/^F\++$/);
    expect(bench.statuses(late)).toMatch(/^\?+F\+$/);
  });

  test('stays as it is when a probe is away during a search', () => {
    const [first, second] = manyRoms(2) as [string, string];
    const bench = new Bench({
      probes: [{ rom: first }, { rom: second }],
      faults: [away(second, 25_000, 75_000)],
    }).run(95_000);
    expect(bench.tables().map(({ table, roms }) => [table, roms.size])).toEqual([[1, 2]]);
    expect(bench.statuses(second)).toBe('F++MMMMMRF');
  });

  test('gives the index of a lost probe to the seventeenth', () => {
    const roms = manyRoms(17);
    const late = roms[16] ?? '';
    const lost = roms[5] ?? '';
    const bench = new Bench({
      probes: roms.map((rom) => ({ rom })),
      faults: [away(late, 0, 20_000), away(lost, 20_000, 200_000)],
    }).run(85_000);
    const [before, after] = bench.tables();
    const indexOf = (roms: Map<number, string> | undefined, rom: string) =>
      [...(roms ?? [])].find(([, other]) => other === rom)?.[0];
    expect(before?.roms.size).toBe(16);
    expect(after?.table).toBe(2);
    expect(indexOf(after?.roms, late)).toBe(indexOf(before?.roms, lost));
    expect(indexOf(after?.roms, lost)).toBeUndefined();
  });

  test('stays as it is when a seventeenth turns up and none is lost', () => {
    const roms = manyRoms(17);
    const late = roms[16] ?? '';
    const bench = new Bench({ probes: roms.map((rom) => ({ rom })), faults: [away(late, 0, 20_000)] }).run(
      85_000,
    );
    expect(bench.tables().map(({ table }) => table)).toEqual([1]);
  });

  test('is built within ten seconds when the first probe comes after the boot', () => {
    const bench = new Bench({ probes: [{ rom: ROMS[0] }], faults: [away(ROMS[0], 0, 15_000)] }).run(32_000);
    expect(bench.tables().map(({ roms }) => roms.size)).toEqual([0, 1]);
    expect(bench.statuses(ROMS[0])).toMatch(/^F/);
  });
});
