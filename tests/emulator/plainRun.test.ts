import { avrInstruction, CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { type Decoded, decode } from '../../src/emulator/decode.js';
import { runPlain } from '../../src/emulator/plainRun.js';
import { seededChance } from '../../src/units/clock.js';

const OPCODES = 0x10000;
const SRAM_BYTES = 512;
const STATES = 4;
const STACK_POINTER = 93;
const POINTERS = [26, 28, 30];
const LDS_R0 = 0x9000;
/** Ends of ranges, which chance would rarely give. */
const ENDS = [0, 1, 127, 128, 255];

const chance = seededChance(11);
const below = (limit: number) => Math.floor(chance.uniform() * limit);
const noise = Uint8Array.from({ length: 16_384 }, () => below(256));

/** Half of all opcodes, each before a word that is a two-word instruction, an address in memory or another. */
function programOf(half: number): Uint16Array {
  const next = () => [LDS_R0, below(0x400), below(OPCODES)][below(3)]!;
  return Uint16Array.from({ length: OPCODES }, (_, word) =>
    word % 2 === 0 ? (half * OPCODES) / 2 + word / 2 : next(),
  );
}

/** Registers, flags and memory of chance; stack and pointers mostly lie in memory. */
function fill(data: Uint8Array): void {
  const from = below(noise.length - data.length);
  data.set(noise.subarray(from, from + data.length));
  if (below(2) === 0) for (let r = 0; r < 32; r += 1) data[r] = ENDS[below(ENDS.length)]!;
  for (const at of [STACK_POINTER, ...POINTERS]) data[at + 1] = below(4);
}
const isSame = (one: CPU, other: CPU) =>
  one.pc === other.pc && one.cycles === other.cycles && Buffer.compare(one.data, other.data) === 0;

/** The opcodes after which registers, memory, flags, place or cycles are not avr8js's, and all that were run. */
function compared(change: (decoded: Decoded) => void = () => {}) {
  const [ran, wrong] = [new Set<number>(), new Set<number>()];
  for (let half = 0; half < 2; half += 1) {
    const program = programOf(half);
    const decoded = decode(program, () => true);
    change(decoded);
    const [ours, theirs] = [new CPU(program, SRAM_BYTES), new CPU(program, SRAM_BYTES)];
    for (let pc = 0; pc < OPCODES; pc += 2) {
      if (decoded.kinds[pc] === 0) continue;
      for (let state = 0; state < STATES; state += 1) {
        fill(ours.data);
        theirs.data.set(ours.data);
        for (const cpu of [ours, theirs]) {
          cpu.pc = pc;
          cpu.cycles = 1000;
        }
        runPlain(ours, decoded, 1001);
        // An address that is not in SRAM is left to avr8js, and then nothing has happened.
        if (ours.cycles > 1000) {
          avrInstruction(theirs);
          ran.add(program[pc]!);
        }
        if (!isSame(ours, theirs)) wrong.add(program[pc]!);
      }
    }
  }
  return { ran, wrong };
}

describe('`runPlain()` of one instruction', () => {
  test('does what avr8js does, whatever the opcode', () => {
    const { ran, wrong } = compared();
    expect([...wrong].map((opcode) => opcode.toString(16))).toEqual([]);
    // I/O, multiplication, calls of two words and what has to do with interrupts are left to avr8js.
    expect(ran.size).toBeGreaterThan(54_000);
  });

  test('would be found out if it forgot the carry of ADC (negative control)', () => {
    const { wrong } = compared(({ kinds }) => {
      for (const [pc, kind] of kinds.entries()) if (kind === 2) kinds[pc] = 1;
    });
    expect(wrong.size).toBeGreaterThan(900);
    // ADC is 0001 11rd dddd rrrr, AVR instruction set manual.
    expect([...wrong].every((opcode) => opcode >> 10 === 0b000111)).toBe(true);
  });
});

test('`runPlain()` stops at its limit, and before what is not plain', () => {
  // ldi r16, 1; ldi r17, 2; add r16, r17; sei; and the words behind which the flash begins again
  const program = Uint16Array.of(0xe001, 0xe012, 0x0f01, 0x9478, 0, 0, 0);
  const cpu = new CPU(program, SRAM_BYTES);
  const decoded = decode(program, () => true);
  runPlain(cpu, decoded, 2);
  expect([cpu.pc, cpu.cycles, cpu.data[16]]).toEqual([2, 2, 1]);
  runPlain(cpu, decoded, 100);
  expect([cpu.pc, cpu.cycles, cpu.data[16]]).toEqual([3, 3, 3]);
  runPlain(cpu, decoded, 100);
  expect(cpu.cycles).toBe(3);
});
