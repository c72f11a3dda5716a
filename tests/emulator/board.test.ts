import { describe, expect, test } from 'vitest';
import { EmulatedBoard } from '../../src/emulator/board.js';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import { Bench, manyRoms, ROMS } from './bench.js';

/** A board whose flash holds these words from the reset vector on. */
function boardOf(...words: number[]) {
  const image = new Uint16Array(16_384).fill(0xffff);
  image.set(words);
  const sent: { byte: number; atMs: number }[] = [];
  const bus = new OneWireBus({ thermometers: [] });
  const board = new EmulatedBoard({ image, bus, onByte: (byte, atMs) => sent.push({ byte, atMs }) });
  return { board, bus, sent };
}

const SEI = 0x9478;
const SLEEP = 0x9588;
const RJMP_SELF = 0xcfff;
const LDI_R16 = (value: number) => 0xe000 | ((value & 0xf0) << 4) | (value & 0x0f);
const STS_R16 = 0x9300;

describe('`run()`', () => {
  const probes = manyRoms(3).map((rom, index) => ({ rom, celsius: (ms: number) => index + ms / 10_000 }));
  const spoken = (bench: Bench) => bench.lines.map(({ text, atMs }) => ({ text, atMs }));

  test('says the same at the same times however the run is cut', () => {
    const whole = new Bench({ probes }).run(13_000);
    const cut = new Bench({ probes });
    for (let ms = 0; ms <= 13_000; ms += ms < 1500 ? 0.037 : 7.3) cut.run(ms);
    cut.run(13_000);
    expect(whole.lines.length).toBeGreaterThan(10);
    expect(spoken(cut)).toEqual(spoken(whole));
  });

  test('stops at the time it is given, and does not go back', () => {
    const bench = new Bench({ probes });
    for (const ms of [10, 10.5, 3000, 12_345.678]) {
      bench.run(ms);
      expect(bench.board.ms).toBeGreaterThanOrEqual(ms);
      expect(bench.board.ms).toBeLessThan(ms + 0.01);
    }
    bench.run(5000);
    expect(bench.board.ms).toBeGreaterThanOrEqual(12_345);
  });

  test('asks a probe for its temperature when the conversions begin', () => {
    const asked: number[] = [];
    const celsius = (ms: number) => {
      asked.push(ms);
      return 20;
    };
    const bench = new Bench({ probes: [{ rom: ROMS[0], celsius }] }).run(33_000);
    const started = bench.scans().map(({ boardMs }) => boardMs);
    expect(asked).toHaveLength(started.length);
    for (const [index, ms] of asked.entries()) expect(Math.abs(ms - (started[index] ?? 0))).toBeLessThan(5);
  });

  test('lets a crystal that is 100 ppm fast run ahead by as much', () => {
    const heartbeats = (crystalPpm: number) =>
      new Bench({ probes, crystalPpm })
        .run(300_000)
        .of('H')
        .filter((line) => line.boardMs > 1000);
    const [exact, fast] = [heartbeats(0), heartbeats(100)];
    const rate = (lines: typeof exact) =>
      ((lines.at(-1)?.boardMs ?? 0) - (lines[0]?.boardMs ?? 0)) /
      ((lines.at(-1)?.atMs ?? 0) - (lines[0]?.atMs ?? 0));
    expect(((rate(fast) - rate(exact)) / rate(exact)) * 1e6).toBeCloseTo(100, 0);
  });
});

describe('the processor', () => {
  test('runs one instruction after SEI before an interrupt, so that SLEEP misses no wake-up', () => {
    // USART data register empty is pending from the start; its vector (26h) writes 1 to GPIOR0 and hangs.
    const program = [LDI_R16(0x28), STS_R16, 0xc1, SEI, SLEEP, LDI_R16(2), STS_R16, 0x3e, RJMP_SELF];
    const { board } = boardOf(...program);
    const { progMem } = board.cpu;
    progMem.set([LDI_R16(1), STS_R16, 0x3f, 0x95a8, RJMP_SELF], 0x26);
    board.run(0.001);
    expect(board.cpu.data[0x3e]).toBe(0);
    board.cpu.pc = 3;
    board.cpu.data[0x53] = 1; // SMCR: sleep enabled, idle
    board.run(0.01);
    // The pending interrupt was taken right after SLEEP; nothing behind SLEEP has run.
    expect(board.cpu.data[0x3e]).toBe(0);
    expect(board.cpu.pc).toBe(0x2a);
    const stack = board.cpu.SP;
    const returnsTo = (board.cpu.data[stack + 2] ?? 0) | ((board.cpu.data[stack + 1] ?? 0) << 8);
    expect(returnsTo).toBe(5);
  });

  test('refuses a deeper sleep than idle, which it does not know', () => {
    const { board } = boardOf(LDI_R16(5), STS_R16, 0x53, SLEEP, RJMP_SELF);
    expect(() => board.run(1)).toThrow(/idle sleep only/);
  });
});

describe('`reset()`', () => {
  test('keeps the SRAM but for a power-on, and never the pins', () => {
    const { board } = boardOf(RJMP_SELF);
    const fresh = board.cpu.data[0x400];
    board.cpu.data[0x400] = (fresh ?? 0) ^ 0xff;
    board.cpu.writeData(0x2a, 0x04);
    board.run(1);
    board.reset('external');
    expect(board.cpu.data[0x400]).toBe((fresh ?? 0) ^ 0xff);
    expect(board.cpu.data[0x2a]).toBe(0);
    expect(board.cpu.data[0x54]).toBe(0x03); // MCUSR: external, and power-on still
    board.reset('brown-out');
    expect(board.cpu.data[0x54]).toBe(0x07);
    board.reset('power-on');
    expect(board.cpu.data[0x400]).toBe(fresh);
    expect(board.cpu.data[0x54]).toBe(0x01);
    expect(board.ms).toBeGreaterThanOrEqual(1);
  });

  test('by power-on restarts the thermometers', () => {
    const bench = new Bench({ probes: [{ rom: ROMS[0], celsius: 30 }] }).run(20_200);
    // Between conversion and reading nothing is left to read.
    bench.board.reset('power-on');
    bench.run(23_000);
    expect(bench.of('B').filter((line) => line.sequence === 0)).toHaveLength(2);
    expect(bench.lines.at(-1)?.boot).toBe(2);
  });
});

test('`receive()` reaches the serial port', () => {
  const { board } = boardOf(LDI_R16(0x10), STS_R16, 0xc1, RJMP_SELF);
  board.run(0.01);
  board.receive(0x5a);
  expect(board.cpu.readData(0xc6)).toBe(0x5a);
});
