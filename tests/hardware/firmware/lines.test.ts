import { describe, expect, test } from 'vitest';
import { LINE_BYTES_MAX } from '../../../src/carrier/wire/frames.js';
import { Bench, manyRoms } from '../../emulator/bench.js';

/** Sixteen probes: the longest lines there are. Two minutes and a bit: every kind of line, twice. */
const probes = manyRoms(16).map((rom, index) => ({ rom, celsius: -20 + 5 * index }));
const bench = new Bench({ probes }).run(135_000);

describe('the lines of a board with sixteen probes', () => {
  test('all have a right CRC and at most 128 bytes', () => {
    expect(bench.lines.length).toBeGreaterThan(150);
    for (const line of bench.lines) {
      expect(line.crcIsRight, line.text).toBe(true);
      expect(line.text.length, line.text).toBeLessThanOrEqual(LINE_BYTES_MAX);
    }
    // Nothing else is sent but the newline before the boot line.
    expect(bench.scraps).toEqual(['\r\n']);
  });

  test('begin with the boot line and are numbered without a gap', () => {
    expect(bench.lines[0]?.kind).toBe('B');
    expect(bench.lines.map((line) => line.sequence)).toEqual(bench.lines.map((_, index) => index));
  });

  test('bear a board time that keeps step with the simulated time', () => {
    // The very first boot makes the board's id first; board time starts a little after power-on.
    const offsets = bench.of('H').map((line) => line.atMs - line.boardMs);
    for (const offset of offsets) expect(Math.abs(offset - (offsets[0] ?? 0))).toBeLessThan(150);
  });

  test('leave the host at most a second without a line', () => {
    const gaps = bench.lines.slice(1).map((line, index) => line.atMs - (bench.lines[index]?.atMs ?? 0));
    expect(Math.max(...gaps)).toBeLessThan(1000);
  });

  test('repeat the boot line and the whole table every minute', () => {
    expect(bench.of('B').map((line) => Math.round(line.boardMs / 60_000))).toEqual([0, 1, 2]);
    expect(bench.of('P')).toHaveLength(3 * 4);
    expect(bench.tables()).toHaveLength(1);
  });

  test('hold a scan every ten seconds, all probes at one board time', () => {
    const scans = bench.scans();
    expect(scans.map(({ scan }) => scan)).toEqual(scans.map((_, index) => index + 1));
    expect(scans.length).toBe(14);
    for (const { of } of scans) expect(of.size).toBe(16);
    const gaps = scans.slice(1).map(({ boardMs }, index) => boardMs - (scans[index]?.boardMs ?? 0));
    for (const gap of gaps) expect(Math.abs(gap - 10_000)).toBeLessThanOrEqual(300);
    const boardTimes = new Map<string, Set<number>>();
    for (const line of bench.of('S')) {
      const key = line.fields[1] ?? '';
      boardTimes.set(key, (boardTimes.get(key) ?? new Set()).add(line.boardMs));
    }
    for (const times of boardTimes.values()) expect(times.size).toBe(1);
  });

  test('report each probe at its own temperature', () => {
    for (const { of } of bench.scans())
      for (const { rom, celsius } of probes) expect(of.get(rom)?.raw).toBe(celsius * 16);
  });
});

test('a board without probes says so and keeps beating', () => {
  const bare = new Bench({ probes: [] }).run(30_000);
  expect(bare.of('P').map((line) => line.fields)).toEqual([['01', '00']]);
  expect(bare.of('S')).toHaveLength(0);
  expect(bare.of('H').length).toBeGreaterThanOrEqual(29);
});
