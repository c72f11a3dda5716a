import { avrInstruction, CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { DEC_LOOP, markInstructions, PLAIN, SBIW_LOOP, skipTurns } from '../../src/emulator/delayLoops.js';

const BRNE = 0xf7f1; // brne .-4
const DEC_R18 = 0x952a;
const SBIW_R24 = 0x9701;

/** Runs `opcode; brne .-4` to its end, skipping turns up to `limit` or none, and returns what can be seen of it. */
function runLoop(opcode: number, registers: Record<number, number>, limit: number | null) {
  const program = new Uint16Array(16);
  program.set([opcode, BRNE]);
  const cpu = new CPU(program, 2048);
  for (const [register, value] of Object.entries(registers)) cpu.data[Number(register)] = value;
  const [mark = PLAIN] = markInstructions(program);
  while (cpu.pc !== 2) {
    if (cpu.pc === 0 && limit !== null) cpu.cycles += skipTurns(mark, opcode, cpu.data, cpu.cycles, limit);
    avrInstruction(cpu);
  }
  return { cycles: cpu.cycles, registers: [...cpu.data.slice(0, 32)], flags: cpu.SREG };
}

describe('`skipTurns()` leaves the loop as if it had run', () => {
  test.each([0, 1, 2, 3, 17, 255])('dec from %d', (count) => {
    const whole = runLoop(DEC_R18, { 18: count }, null);
    expect(whole.cycles).toBe(3 * (count || 256) - 1); // instruction set manual: DEC 1, BRNE 2 taken, 1 not taken
    for (const limit of [0, 1, 100, 1e9]) expect(runLoop(DEC_R18, { 18: count }, limit)).toEqual(whole);
  });

  test.each([0, 1, 2, 255, 256, 257, 1000])('sbiw from %d', (count) => {
    const registers = { 24: count & 0xff, 25: count >> 8 };
    const whole = runLoop(SBIW_R24, registers, null);
    expect(whole.cycles).toBe(4 * (count || 65_536) - 1); // instruction set manual: SBIW 2, BRNE 2 or 1
    for (const limit of [0, 1, 100, 1e9]) expect(runLoop(SBIW_R24, registers, limit)).toEqual(whole);
  });
});

test('`skipTurns()` does not go past its limit', () => {
  const registers = new Uint8Array(32);
  registers[18] = 200;
  expect(skipTurns(DEC_LOOP, DEC_R18, registers, 1000, 1100)).toBe(99);
  expect(registers[18]).toBe(200 - 33);
  expect(skipTurns(DEC_LOOP, DEC_R18, registers, 1000, 990)).toBe(0);
});

test('`markInstructions()` takes other loops as they are', () => {
  const marks = markInstructions(
    Uint16Array.of(DEC_R18, 0xf7e9, DEC_R18, BRNE, SBIW_R24, BRNE, 0x9702, BRNE),
  );
  expect([...marks]).toEqual([PLAIN, PLAIN, DEC_LOOP, PLAIN, SBIW_LOOP, PLAIN, PLAIN, PLAIN]);
});
