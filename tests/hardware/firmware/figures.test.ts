import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import type { Fault } from '../../../src/emulator/faults.js';
import { MEMORY_ADDRESS, SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, command, manyRoms } from '../../emulator/bench.js';
import { build, WHY_NO_BUILD } from './build.js';

const README = new URL('../../../hardware/firmware/README.md', import.meta.url);
const IMAGE = new URL('../../../hardware/firmware/image/stillwarm.hex', import.meta.url);
const RAM_END = 0x8ff;
const CLOCK_HZ = 16_000_000;
const UTC = 1_790_000_000;
const SETTINGS = '01,28139BBB0B00001F,0010,0020'.split(',');

/** The project's own limits; variables and stack together have 1.7 KiB. */
const LIMITS = { 'bytes of flash': 20_480, 'bytes of RAM': 1740, '% awake': 4 } as const;
/** Which figures are over their limits, and those that are none. */
const over = (figures: Partial<Record<keyof typeof LIMITS, number>>): string[] =>
  Object.entries(figures).flatMap(([what, is]) =>
    is > 0 && is <= LIMITS[what as keyof typeof LIMITS] ? [] : [`${is} ${what}`],
  );
/** What a byte of the serial port may wait: half of its time at 38400 baud is 130. */
const INTERRUPTS_OFF_US_MAX = 80;

const readme = readFileSync(README, 'utf8');
/** The second cell of a row of the README's table. */
const told = (figure: string, page = readme) =>
  new RegExp(`^\\| ${figure} \\| ([\\d.]+) `, 'm').exec(page)?.[1] ?? null;
const chips = () => ({ memory: new SerialMemory(), clock: new ClockChip({ utcSeconds: UTC }) });
const twelve = () => manyRoms(12).map((rom) => ({ rom }));

describe('the table of sizes and times in hardware/firmware/README.md', () => {
  test('flash', () => {
    expect(told('flash')).toBe(String(hexBytes(readFileSync(IMAGE, 'latin1'))));
    expect(over({ 'bytes of flash': Number(told('flash')) })).toEqual([]);
  });

  test('variables, as the linker counts them', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    expect(told('variables')).toBe(String(build().ramBytes));
  });

  test('stack, while everything happens', () => {
    const deepest = deepestStack(Number(told('variables')));
    expect(deepest).toBeGreaterThan(30);
    expect(told('stack')).toBe(String(deepest));
    expect(over({ 'bytes of RAM': Number(told('variables')) + deepest })).toEqual([]);
  });

  test('awake, and cycles a scan', () => {
    const bench = new Bench({ probes: twelve(), ...chips() }).run(10_000);
    const [ms, slept] = [bench.board.ms, bench.board.sleptMs];
    // As the benchmark: ten minutes.
    const PERIODS = 60;
    bench.run(10_000 + PERIODS * 10_000);
    const awakeMs = bench.board.ms - ms - (bench.board.sleptMs - slept);
    const percent = (100 * awakeMs) / (bench.board.ms - ms);
    expect(told('awake')).toBe(percent.toFixed(1));
    expect(over({ '% awake': percent })).toEqual([]);
    expect(told('cycles a scan')).toBe(String(Math.round((awakeMs * CLOCK_HZ) / 1e6 / PERIODS)));
  });

  test('limits are held: what is over one is named, and so is what was not measured (negative control)', () => {
    expect(over({ 'bytes of flash': 20_481, 'bytes of RAM': 1741, '% awake': 4.1 })).toHaveLength(3);
    expect(over({ 'bytes of flash': 0, '% awake': Number.NaN })).toHaveLength(2);
  });

  /** Through a search, a minute's announcements and scans, while a host asks for everything and the memory is written. */
  const longestOff = (hex?: string) => {
    const stretches: number[] = [];
    const onInterruptsOff = (us: number) => stretches.push(us);
    const bench = new Bench({ probes: twelve(), ...chips(), onInterruptsOff, ...(hex && { hex }) }).run(
      25_000,
    );
    const busy: readonly (readonly [string, ...string[]])[] = [
      ['S'],
      ['R', '000001', '0010'],
      ['L', ...SETTINGS],
      ['C', '6AB13B80'],
      ['T'],
      ['M'],
      ['K', '000001'],
    ];
    for (let at = 0; bench.board.ms < 66_000; at += 1) {
      const [letter, ...fields] = busy[at % busy.length]!;
      bench.hear(command(letter, at % 256, ...fields)).run(bench.board.ms + 137);
    }
    expect(bench.of('A').length).toBeGreaterThan(200);
    return stretches.reduce((most, us) => Math.max(most, us), 0);
  };
  test('interrupts off', () => {
    const longest = longestOff();
    // The measurement sees the write-0 slots, which keep them off for at least 60 us.
    expect(longest).toBeGreaterThan(60);
    expect(told('interrupts off')).toBe(longest.toFixed(0));
    expect(longest).toBeLessThanOrEqual(INTERRUPTS_OFF_US_MAX);
  });

  test('interrupts are off for too long in an image with long slots (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    expect(longestOff(build('SLOT_ERROR_US=30').hex)).toBeGreaterThan(INTERRUPTS_OFF_US_MAX);
  });

  test('boot, and the mount', () => {
    const bench = new Bench({ probes: twelve(), ...chips() }).run(100_000);
    bench.board.reset('power-on');
    const from = bench.board.ms;
    bench.run(from + 5000);
    const first = (kind: string) => bench.of(kind).find(({ atMs }) => atMs > from)!.atMs;
    expect(told('boot')).toBe((first('B') - from).toFixed(0));
    expect(told('mount')).toBe((first('J') - from).toFixed(0));
  });

  test('is found out when it tells another figure (negative control)', () => {
    const other = readme.replace(/^\| awake \| [\d.]+/m, '| awake | 9.9');
    expect(other).not.toBe(readme);
    expect(told('awake', other)).toBe('9.9');
    expect(told('mites')).toBeNull();
  });
});

/** Bytes of program in an Intel HEX text: the data records. */
function hexBytes(text: string): number {
  return text
    .split(/\r?\n/)
    .filter((line) => line.slice(7, 9) === '00')
    .reduce((sum, line) => sum + Number.parseInt(line.slice(1, 3), 16), 0);
}

/** How deep the stack came while everything happens that wants one. */
function deepestStack(ramBytes: number): number {
  const probes = manyRoms(16).map((rom) => ({ rom }));
  const faults: Fault[] = [
    { kind: 'loose-lead', rom: probes[3]?.rom ?? '', fromMs: 0, toMs: 20_000 },
    { kind: 'bit-flips', fromMs: 30_000, toMs: 50_000 },
    { kind: 'short', fromMs: 50_000, toMs: 55_000 },
  ];
  // Until it is used, memory holds what it held at power-on.
  const untouched = new Bench({ probes }).board.cpu.data.slice();
  const bench = new Bench({
    probes,
    faults,
    memory: new SerialMemory(),
    clock: new ClockChip({ utcSeconds: UTC }),
    // The memory goes while a page is open and comes back: pages wait in RAM and are adopted.
    i2cFaults: [{ kind: 'absent', address: MEMORY_ADDRESS, fromMs: 60_000, toMs: 130_000 }],
  }).run(15_000);
  for (const [letter, ...fields] of [
    ['I'],
    ['L', ...SETTINGS],
    ['D', '01', '6A000000'],
    ['C', '6AB13B80'],
    ['T'],
    ['S'],
    ['M'],
  ])
    expect(bench.ask(letter ?? '', ...fields)[0]).toBe('K');
  bench.board.press(true);
  bench.run(bench.board.ms + 100).board.press(false);
  bench.run(50_000).board.reset('external');
  bench.run(130_000);
  expect(bench.ask('R', '000001', '0200')[0]).toBe('K');
  const { data } = bench.run(bench.board.ms + 60_000).board.cpu;
  let lowest = RAM_END;
  for (let address = 0x100 + ramBytes; address <= RAM_END; address += 1)
    if (data[address] !== untouched[address]) lowest = Math.min(lowest, address);
  return RAM_END + 1 - lowest;
}
