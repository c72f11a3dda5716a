import { avrInstruction, CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { decode, kindOf } from '../../src/emulator/decode.js';
import { runPlain } from '../../src/emulator/plainRun.js';

const BRNE = 0xf7f1; // brne .-4
const DEC_R18 = 0x952a;
const SBIW_R24 = 0x9701;

function loopOf(opcode: number, registers: Record<number, number>) {
  const program = new Uint16Array(16);
  program.set([opcode, BRNE]);
  const cpu = new CPU(program, 2048);
  for (const [register, value] of Object.entries(registers)) cpu.data[Number(register)] = value;
  return { cpu, decoded: decode(program) };
}

/** Runs `opcode; brne .-4` to its end, by so many cycles at a time or all by avr8js, and returns what can be seen of it. */
function runLoop(opcode: number, registers: Record<number, number>, atATime: number | null) {
  const { cpu, decoded } = loopOf(opcode, registers);
  let steps = 0;
  while (cpu.pc < 2) {
    const before = cpu.cycles;
    // What follows the loop is not run: its two words only are decoded.
    decoded.fill(0, 2);
    if (atATime !== null) runPlain(cpu, decoded, cpu.cycles + atATime);
    if (cpu.cycles === before) avrInstruction(cpu);
    steps += 1;
  }
  return { steps, seen: { cycles: cpu.cycles, registers: [...cpu.data.slice(0, 32)], flags: cpu.SREG } };
}

describe('`runPlain()` leaves a delay loop as if it had run, however it is cut', () => {
  test.each([0, 1, 2, 3, 17, 128, 129, 255])('dec from %d', (count) => {
    const whole = runLoop(DEC_R18, { 18: count }, null).seen;
    expect(whole.cycles).toBe(3 * (count || 256) - 1); // instruction set manual: DEC 1, BRNE 2 taken, 1 not taken
    for (const atATime of [1, 2, 7, 100, 1e9])
      expect(runLoop(DEC_R18, { 18: count }, atATime).seen).toEqual(whole);
  });

  test.each([0, 1, 2, 255, 256, 257, 1000])('sbiw from %d', (count) => {
    const registers = { 24: count & 0xff, 25: count >> 8 };
    const whole = runLoop(SBIW_R24, registers, null).seen;
    expect(whole.cycles).toBe(4 * (count || 65_536) - 1); // instruction set manual: SBIW 2, BRNE 2 or 1
    for (const atATime of [1, 3, 7, 100, 1e9])
      expect(runLoop(SBIW_R24, registers, atATime).seen).toEqual(whole);
  });
});

test('`runPlain()` skips turns of a delay loop, up to its limit', () => {
  expect(runLoop(SBIW_R24, { 24: 0xff, 25: 0xff }, 1e9).steps).toBeLessThan(5);
  const { cpu, decoded } = loopOf(DEC_R18, { 18: 200 });
  cpu.cycles = 1000;
  // 33 turns of 3 cycles, and the DEC of the next
  runPlain(cpu, decoded, 1100);
  expect([cpu.cycles, cpu.data[18], cpu.pc]).toEqual([1100, 200 - 34, 1]);
});

test('`decode()` takes other loops as they are', () => {
  const words = [DEC_R18, 0xf7e9, DEC_R18, BRNE, SBIW_R24, BRNE, 0x9702, BRNE];
  const kinds = decode(Uint16Array.of(...words, 0, 0, 0)).map(kindOf);
  const [dec, , decLoop, , sbiwLoop, , sbiw] = kinds;
  expect(new Set([dec, decLoop, sbiwLoop, sbiw]).size).toBe(4);
});
