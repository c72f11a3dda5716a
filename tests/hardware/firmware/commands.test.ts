import { expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, ROMS } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { build, WHY_NO_BUILD } from './build.js';

const ROM = ROMS[0].replaceAll('-', '');
const UTC = 1_790_000_000;
const desk = (hex?: string) =>
  new Bench({
    ...(hex && { hex }),
    probes: [{ rom: ROMS[0], celsius: 20 }],
    memory: new SerialMemory(),
    clock: new ClockChip({ utcSeconds: UTC }),
    hostListens: false,
  }).run(5000);
const settings = (bench: Bench) => {
  const from = bench.lines.length;
  bench.ask('T');
  bench.run(bench.board.ms + 500);
  return bench.lines
    .slice(from)
    .filter(({ kind }) => kind === 'T' || kind === 'E')
    .map(({ fields }) => fields.join());
};

test('commands are kept, read back and survive a power cut', () => {
  const bench = desk();
  expect(bench.ask('P', '0C', '19')).toEqual(['K']);
  expect(bench.ask('L', '03', ROM, '00F8', '0280')).toEqual(['K']);
  expect(bench.ask('D', '03', '6AB20000')).toEqual(['K']);
  const kept = ['0C,19,01', `03,${ROM},00F8,0280,6AB20000`];
  expect(settings(bench)).toEqual(kept);
  bench.board.reset('power-on');
  bench.run(bench.board.ms + 3000);
  expect(settings(bench)).toEqual(kept);
});

test.each([
  ['P', ['09', '14'], 'R'],
  ['P', ['0A', '1A'], 'R'],
  ['P', ['0A'], 'F'],
  ['P', [], 'F'],
  ['P', ['0A', '14', '00'], 'F'],
  ['P', ['0A', '1'], 'F'],
  ['P', ['0A', '1G'], 'F'],
  ['P', ['0a', '14'], 'F'],
  ['P', ['00', '00'], 'R'],
  ['L', ['00', ROM, '8000', '8000'], 'R'],
  ['L', ['01', ROM, '8000'], 'F'],
  ['L', ['01', ROM, '8000', '8000', '8000'], 'F'],
  ['L', ['01', ROM.slice(2), '8000', '8000'], 'F'],
  ['D', ['01'], 'F'],
  ['D', ['FF', '6AB20000'], 'R'],
  ['K', ['000001', '000001'], 'F'],
  ['C', ['0'], 'F'],
  ['R', ['000001'], 'F'],
  ['I', ['00'], 'F'],
  ['T', ['00'], 'F'],
  ['L', ['11', ROM, '8000', '8000'], 'R'],
  ['L', ['01', `${ROM.slice(0, -1)}0`, '8000', '8000'], 'R'],
  ['L', ['01', ROM, '0280', '00F8'], 'R'],
  // Beyond what a thermometer measures, -55 to 125 degC; family 02h is none.
  ['L', ['01', ROM, 'FC8F', '8000'], 'R'],
  ['L', ['01', ROM, '8000', '07D1'], 'R'],
  ['L', ['01', '021CB801000000A2', '8000', '8000'], 'R'],
  // The seconds before 2026 and after 2099.
  ['C', ['6955B8FF'], 'R'],
  ['C', ['F4865700'], 'R'],
  ['D', ['02', '6AB20000'], 'N'],
  ['K', ['FFFFFF'], 'N'],
  ['X', [], 'U'],
] as const)('%s %s is answered %s and changes nothing', (letter, fields, result) => {
  const bench = desk();
  expect(bench.ask(letter, ...fields)).toEqual([result]);
  expect(settings(bench)).toEqual(['0A,14,00']);
});

test('a due time is its probe’s: other limits leave it, another probe ends it', () => {
  const bench = desk();
  expect(bench.ask('L', '03', ROM, '00F8', '0280')).toEqual(['K']);
  expect(bench.ask('D', '03', '6AB20000')).toEqual(['K']);
  expect(bench.ask('L', '03', ROM, '0100', '0280')).toEqual(['K']);
  expect(settings(bench)[1]).toBe(`03,${ROM},0100,0280,6AB20000`);
  const other = ROMS[1].replaceAll('-', '');
  expect(bench.ask('L', '03', other, '0100', '0280')).toEqual(['K']);
  expect(settings(bench)[1]).toBe(`03,${other},0100,0280,00000000`);
});

test('the clock is set, and a stopped oscillator is believed', () => {
  const clock = new ClockChip({ utcSeconds: UTC, hadStopped: true });
  const bench = new Bench({ probes: [], clock, hostListens: false }).run(2000);
  expect(bench.of('C')[0]?.fields).toEqual(['S', '00000000', '00']);
  expect(bench.ask('C', UTC.toString(16).toUpperCase())).toEqual(['K', 'R']);
  expect(Math.abs(clock.utcAt(bench.board.ms * 1000) - UTC)).toBeLessThan(1);
});

/** Where a line is not numbered one more than the line before; 0 follows 65,535. */
const breaksIn = (sequences: readonly number[]): number[] =>
  sequences.flatMap((sequence, at) =>
    at === 0 || sequence === (sequences[at - 1]! + 1) % 65_536 ? [] : [at],
  );

test('board time and sequence go on over their wraps', ({ skip }) => {
  skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
  const { hex } = build('START_MS=4294937250', 'START_SEQUENCE=65500');
  const bench = new Bench({ hex, probes: [{ rom: ROMS[0] }] }).run(90_000);
  expect(bench.scans().length).toBe(9);
  const sequences = bench.lines.map(({ sequence }) => sequence);
  expect(breaksIn(sequences)).toEqual([]);
  expect(sequences[0]).toBe(65_500);
  expect(bench.lines.at(-1)?.boardMs).toBeLessThan(90_000);
  expect(bench.of('H').length).toBeGreaterThan(110);
  // Negative controls: the same lines with the one numbered 0 left out, doubled, or numbered 65,536.
  const zero = sequences.indexOf(0);
  expect(zero).toBeGreaterThan(0);
  expect(breaksIn(sequences.toSpliced(zero, 1))).toEqual([zero]);
  expect(breaksIn(sequences.toSpliced(zero, 0, 0))).toEqual([zero + 1]);
  expect(breaksIn(sequences.with(zero, 65_536))).toContain(zero);
});

test('a board that compares times as if none came round is found out at the wrap (negative control)', ({
  skip,
}) => {
  skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
  const { hex } = broken('times are compared across the wrap of the counter', 'START_MS=4294937250');
  const bench = new Bench({ hex, probes: [{ rom: ROMS[0] }] }).run(90_000);
  expect(bench.scans().length).not.toBe(9);
});

test('a second chip costs one header: the image builds for it', ({ skip }) => {
  skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
  expect(build('MCU=atmega2560').flashBytes).toBeLessThanOrEqual(20_480);
});
