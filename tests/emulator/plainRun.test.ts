import { avrInstruction, CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { type Decoded, decode, FIRST_REACH, kindOf } from '../../src/emulator/decode.js';
import { runPlain } from '../../src/emulator/plainRun.js';
import { reach } from '../../src/emulator/reach.js';
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
  Object.is(one.pc, other.pc) && one.cycles === other.cycles && Buffer.compare(one.data, other.data) === 0;

/** What a peripheral at every address hears, and when. Those that are read answer with what was written last, turned over. */
function listenTo(cpu: CPU): string[] {
  const heard: string[] = [];
  const tell = (...what: readonly unknown[]) => void heard.push([...what, cpu.cycles].join(' '));
  cpu.onWatchdogReset = () => tell('wdr');
  // Not the stack pointer and the flags.
  for (let at = 0x20; at < 0x100; at += 1) {
    if (at >= STACK_POINTER && at <= STACK_POINTER + 2) continue;
    cpu.readHooks[at] = (address) => {
      tell('read', address);
      return ~cpu.data[address]! & 255;
    };
    cpu.writeHooks[at] = (value, old, address, mask) => {
      tell('write', value, old, address, mask);
      cpu.data[address] = value;
      return true;
    };
  }
  return heard;
}

const isCbi = (opcode: number) => opcode >> 8 === 0x98;

/** The opcodes after which registers, memory, flags, place, cycles or what was heard are not avr8js's, and all that were run. */
function compared(change: (decoded: Decoded) => void = () => {}) {
  const [ran, reached, wrong] = [new Set<number>(), new Set<number>(), new Set<number>()];
  for (let half = 0; half < 2; half += 1) {
    const program = programOf(half);
    const decoded = decode(program);
    change(decoded);
    const [ours, theirs] = [new CPU(program, SRAM_BYTES), new CPU(program, SRAM_BYTES)];
    const [oursHeard, theirsHeard] = [listenTo(ours), listenTo(theirs)];
    for (let pc = 0; pc < OPCODES; pc += 2) {
      const kind = kindOf(decoded[pc]!);
      if (kind === 0) continue;
      for (let state = 0; state < STATES; state += 1) {
        fill(ours.data);
        theirs.data.set(ours.data);
        for (const cpu of [ours, theirs]) {
          cpu.pc = pc;
          cpu.cycles = 1000;
        }
        if (kind >= FIRST_REACH) reach(ours, decoded);
        else runPlain(ours, decoded, 1001);
        // An address that is not in SRAM is left to avr8js, and then nothing has happened.
        if (ours.cycles > 1000) {
          avrInstruction(theirs);
          // It takes two cycles, AVR instruction set manual; avr8js 0.21.1 counts one.
          if (isCbi(program[pc]!)) theirs.cycles += 1;
          (kind >= FIRST_REACH ? reached : ran).add(program[pc]!);
        }
        const hasHeard = oursHeard.splice(0).join() === theirsHeard.splice(0).join();
        if (!hasHeard || !isSame(ours, theirs)) wrong.add(program[pc]!);
      }
    }
  }
  return { ran, reached, wrong };
}

describe('`runPlain()` and `reach()` of one instruction', () => {
  test('do what avr8js does, whatever the opcode, and peripherals hear the same', () => {
    const { ran, reached, wrong } = compared();
    expect([...wrong].map((opcode) => opcode.toString(16))).toEqual([]);
    // Multiplication, reading of the flash and what is rare are left to avr8js.
    expect(ran.size).toBeGreaterThan(56_000);
    expect(reached.size).toBeGreaterThan(4_900);
  });

  test('would be found out if it forgot the carry of ADC (negative control)', () => {
    const { wrong } = compared((decoded) => {
      for (const [pc, word] of decoded.entries()) if (kindOf(word) === 2) decoded[pc] = word - 1;
    });
    expect(wrong.size).toBeGreaterThan(900);
    // ADC is 0001 11rd dddd rrrr, AVR instruction set manual.
    expect([...wrong].every((opcode) => opcode >> 10 === 0b000111)).toBe(true);
  });
});

test('`reach()` would be found out if it took SBIC for SBIS (negative control)', () => {
  const { wrong } = compared((decoded) => {
    for (const [pc, word] of decoded.entries()) if (kindOf(word) === FIRST_REACH + 1) decoded[pc] = word + 2;
  });
  // SBIC is 1001 1001 AAAA Abbb, AVR instruction set manual.
  expect(wrong.size).toBe(256);
  expect([...wrong].every((opcode) => opcode >> 8 === 0x99)).toBe(true);
});

test('`runPlain()` stops at its limit, and before what is not plain', () => {
  // ldi r16, 1; ldi r17, 2; add r16, r17; sei; and the words behind which the flash begins again
  const program = Uint16Array.of(0xe001, 0xe012, 0x0f01, 0x9478, 0, 0, 0);
  const cpu = new CPU(program, SRAM_BYTES);
  const decoded = decode(program);
  runPlain(cpu, decoded, 2);
  expect([cpu.pc, cpu.cycles, cpu.data[16]]).toEqual([2, 2, 1]);
  runPlain(cpu, decoded, 100);
  expect([cpu.pc, cpu.cycles, cpu.data[16]]).toEqual([3, 3, 3]);
  runPlain(cpu, decoded, 100);
  expect(cpu.cycles).toBe(3);
});

test('`runPlain()` stops where the flags let an interrupt be taken', () => {
  // cli; out SREG, r16; ldi r17, 2; and the words behind which the flash begins again: AVR instruction set manual
  const program = Uint16Array.of(0x94f8, 0xbf0f, 0xe012, 0, 0, 0);
  const decoded = decode(program);
  const stoppedAt = (before: number, restored: number) => {
    const cpu = new CPU(program, SRAM_BYTES);
    [cpu.data[95], cpu.data[16]] = [before, restored];
    runPlain(cpu, decoded, 100);
    return [cpu.pc, cpu.cycles];
  };
  expect(stoppedAt(0x80, 0x80)).toEqual([2, 2]);
  // They stay off.
  expect(stoppedAt(0x80, 0)).toEqual([3, 3]);
});
