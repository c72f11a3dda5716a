import type { CPU } from 'avr8js';
import type { Decoded } from './decode.js';

const SREG = 95;
const SP = 93;
/** Below are registers and what peripherals listen to. */
const SRAM = 0x100;
/** Of the flags: interrupts are on, and the bit that BST and BLD copy. */
const I = 0x80;
const T = 0x40;

/** LDS, STS, JMP and CALL are of two words. */
export function wordsAt(program: Uint16Array, pc: number): number {
  const opcode = program[pc] as number;
  return (opcode & 0xfc0f) === 0x9000 || (opcode & 0xfe0c) === 0x940c ? 2 : 1;
}

// The flags: C 1, Z 2, N 4, V 8, S 16 (N or V, not both), H 32. What T and I are stays. H is avr8js's, which is not a chip's.

/** Z, N and S of a result that cannot overflow. */
const OF_RESULT = Uint8Array.from(
  { length: 256 },
  (_, result) => (result === 0 ? 2 : 0) | (result & 128 ? 0x14 : 0),
);

/** Sets the flags for `d + r + carry`, and gives the sum. */
function added(data: Uint8Array, d: number, r: number, carry: number): number {
  const sum = d + r + carry;
  const n = (sum & 128) >> 5;
  const v = ((sum ^ r) & (d ^ sum) & 128) >> 4;
  const h = (((d & r) | (r & ~sum) | (~sum & d)) & 1) << 5;
  const z = (sum & 255) === 0 ? 2 : 0;
  data[SREG] = ((data[SREG] as number) & 0xc0) | (sum >> 8) | z | n | v | ((n << 2) ^ (v << 1)) | h;
  return sum;
}

/** Sets the flags for `d - r - carry`, and gives what is left. `zero` is Z when nothing is. */
function taken(data: Uint8Array, d: number, r: number, carry: number, zero: number): number {
  const rest = d - r - carry;
  const n = (rest & 128) >> 5;
  const v = ((d ^ r) & (d ^ rest) & 128) >> 4;
  const h = (((~d & r) | (r & rest) | (rest & ~d)) & 1) << 5;
  const z = rest === 0 ? zero : 0;
  data[SREG] = ((data[SREG] as number) & 0xc0) | (rest >>> 31) | z | n | v | ((n << 2) ^ (v << 1)) | h;
  return rest;
}

/** Sets the flags for a result whose V is `v` (0 or 0x18: it turns S with it), and gives the result. */
function resulted(data: Uint8Array, result: number, v: number): number {
  data[SREG] = ((data[SREG] as number) & 0xe1) | ((OF_RESULT[result] as number) ^ v);
  return result;
}

/** Sets the flags for `value` shifted right with `top` moved in, and gives the result. V is N or C, not both, so S is C. */
function shifted(data: Uint8Array, value: number, top: number): number {
  const result = (value >> 1) | (top << 7);
  const c = value & 1;
  const z = result === 0 ? 2 : 0;
  data[SREG] = ((data[SREG] as number) & 0xe0) | z | (top << 2) | ((top ^ c) << 3) | (c << 4) | c;
  return result;
}

/** Sets the flags, but for H, for a word that came of adding or taking away; bit 15 of the others is V and C. */
function ofWord(data: Uint8Array, result: number, overflow: number, carry: number): number {
  const n = (result & 0x8000) >> 13;
  const v = (overflow & 0x8000) >> 12;
  const c = (carry >> 15) & 1;
  const z = result === 0 ? 2 : 0;
  data[SREG] = ((data[SREG] as number) & 0xe0) | c | z | n | v | ((n << 2) ^ (v << 1));
  return result;
}

const wordAt = (data: Uint8Array, at: number) => (data[at] as number) | ((data[at + 1] as number) << 8);
function setWord(data: Uint8Array, at: number, value: number): void {
  data[at] = value;
  data[at + 1] = value >> 8;
}

/** Takes `b` from the word at `a`: SBIW. */
function wordTaken(data: Uint8Array, a: number, b: number): void {
  const d = wordAt(data, a);
  const rest = (d - b) & 0xffff;
  setWord(data, a, ofWord(data, rest, d & ~rest, rest & ~d));
  const h = (((~d & b) | (b & rest) | (rest & ~d)) & 1) << 5;
  data[SREG] = ((data[SREG] as number) & ~0x20) | h;
}

/** Puts where to return to on the stack; false, and nothing done, when that is not in SRAM. */
function pushed(data: Uint8Array, pc: number): boolean {
  const at = wordAt(data, SP);
  if (at <= SRAM + 1 || at >= data.length) return false;
  data[at] = pc;
  data[at - 1] = pc >> 8;
  setWord(data, SP, at - 2);
  return true;
}

/**
 * Runs on from where `cpu` stands until cycle `limit` or an instruction that is not plain, before which it stops. All that follow
 * one another here share what comes after the `switch`: the next word, one cycle more.
 */
export function runPlain(cpu: CPU, decoded: Decoded, limit: number): void {
  const { data, data16, progMem } = cpu;
  const end = data.length;
  let { pc, cycles } = cpu;
  run: while (cycles < limit) {
    const word = decoded[pc] as number;
    const a = (word >>> 8) & 0xff;
    const b = word >>> 16;
    const flags = data[SREG] as number;
    switch (word & 0xff) {
      case 1: // ADD
        data[a] = added(data, data[a] as number, data[b] as number, 0);
        break;
      case 2: // ADC
        data[a] = added(data, data[a] as number, data[b] as number, flags & 1);
        break;
      case 3: // SUB
        data[a] = taken(data, data[a] as number, data[b] as number, 0, 2);
        break;
      case 4: // SBC
        data[a] = taken(data, data[a] as number, data[b] as number, flags & 1, flags & 2);
        break;
      case 5: // CP
        taken(data, data[a] as number, data[b] as number, 0, 2);
        break;
      case 6: // CPC
        taken(data, data[a] as number, data[b] as number, flags & 1, flags & 2);
        break;
      case 7: // AND
        data[a] = resulted(data, (data[a] as number) & (data[b] as number), 0);
        break;
      case 8: // OR
        data[a] = resulted(data, (data[a] as number) | (data[b] as number), 0);
        break;
      case 9: // EOR
        data[a] = resulted(data, (data[a] as number) ^ (data[b] as number), 0);
        break;
      case 10: // MOV, IN of the flags or the stack pointer, OUT to it
        data[a] = data[b] as number;
        break;
      case 11: // CPI
        taken(data, data[a] as number, b, 0, 2);
        break;
      case 12: // SBCI
        data[a] = taken(data, data[a] as number, b, flags & 1, flags & 2);
        break;
      case 13: // SUBI
        data[a] = taken(data, data[a] as number, b, 0, 2);
        break;
      case 14: // ORI
        data[a] = resulted(data, (data[a] as number) | b, 0);
        break;
      case 15: // ANDI
        data[a] = resulted(data, (data[a] as number) & b, 0);
        break;
      case 16: // LDI
        data[a] = b;
        break;
      case 17: // COM
        data[a] = resulted(data, 255 - (data[a] as number), 0);
        data[SREG] = (data[SREG] as number) | 1;
        break;
      case 18: // SWAP
        data[a] = ((data[a] as number) << 4) | ((data[a] as number) >> 4);
        break;
      case 19: // INC
        data[a] = resulted(data, ((data[a] as number) + 1) & 255, data[a] === 127 ? 0x18 : 0);
        break;
      case 20: // LSR
        data[a] = shifted(data, data[a] as number, 0);
        break;
      case 21: // ROR
        data[a] = shifted(data, data[a] as number, flags & 1);
        break;
      case 22: // DEC
        data[a] = resulted(data, ((data[a] as number) - 1) & 255, data[a] === 128 ? 0x18 : 0);
        break;
      case 23: // MOVW
        data16[a >> 1] = data16[b >> 1] as number;
        break;
      case 24: // BRBS
        if ((flags & a) === 0) break;
        pc = b;
        cycles += 2;
        continue;
      case 25: // BRBC
        if ((flags & a) !== 0) break;
        pc = b;
        cycles += 2;
        continue;
      case 26: // RJMP
        pc = b;
        cycles += 2;
        continue;
      case 27: {
        // LD, LDD
        const at = (data16[b >> 8] as number) + (b & 0xff);
        if (at < SRAM || at >= end) break run;
        data[a] = data[at] as number;
        cycles += 1;
        break;
      }
      case 28: {
        // ST, STD
        const at = (data16[b >> 8] as number) + (b & 0xff);
        if (at < SRAM || at >= end) break run;
        data[at] = data[a] as number;
        cycles += 1;
        break;
      }
      case 29: // OUT to the flags
        data[a] = data[b] as number;
        // An interrupt that waited comes now.
        if ((~flags & (data[a] as number) & I) === 0) break;
        pc += 1;
        cycles += 1;
        break run;
      case 31: // LDS
        if (b >= end) break run;
        data[a] = data[b] as number;
        pc += 1;
        cycles += 1;
        break;
      case 32: // STS
        if (b >= end) break run;
        data[b] = data[a] as number;
        pc += 1;
        cycles += 1;
        break;
      case 30: // JMP
        pc = b;
        cycles += 3;
        continue;
      case 33: {
        // CALL
        if (!pushed(data, pc + 2)) break run;
        pc = b;
        cycles += 4;
        continue;
      }
      case 35: {
        // POP
        const at = wordAt(data, SP) + 1;
        if (at <= SRAM || at >= end) break run;
        setWord(data, SP, at);
        data[a] = data[at] as number;
        cycles += 1;
        break;
      }
      case 36: {
        // PUSH
        const at = wordAt(data, SP);
        if (at <= SRAM || at >= end) break run;
        data[at] = data[a] as number;
        setWord(data, SP, at - 1);
        cycles += 1;
        break;
      }
      case 37: {
        // LD, pointer moved on
        const at = data16[b] as number;
        if (at < SRAM || at >= end) break run;
        data[a] = data[at] as number;
        data16[b] = at + 1;
        cycles += 1;
        break;
      }
      case 38: {
        // ST, pointer moved on
        const at = data16[b] as number;
        if (at < SRAM || at >= end) break run;
        data[at] = data[a] as number;
        data16[b] = at + 1;
        cycles += 1;
        break;
      }
      case 39: {
        // RCALL
        if (!pushed(data, pc + 1)) break run;
        pc = b;
        cycles += 3;
        continue;
      }
      case 40: {
        // SBRC
        if (((data[a] as number) & b) !== 0) break;
        const skipped = wordsAt(progMem, pc + 1);
        pc += skipped;
        cycles += skipped;
        break;
      }
      case 41: {
        // SBRS
        if (((data[a] as number) & b) === 0) break;
        const skipped = wordsAt(progMem, pc + 1);
        pc += skipped;
        cycles += skipped;
        break;
      }
      case 42: {
        // ADIW
        const d = data16[a >> 1] as number;
        const sum = (d + b) & 0xffff;
        data16[a >> 1] = ofWord(data, sum, ~d & sum, ~sum & d);
        cycles += 1;
        break;
      }
      case 43: // SBIW
        wordTaken(data, a, b);
        cycles += 1;
        break;
      case 44: {
        // RET
        const at = wordAt(data, SP) + 2;
        if (at <= SRAM + 1 || at >= end) break run;
        const target = ((data[at - 1] as number) << 8) | (data[at] as number);
        if (target >= progMem.length) break run;
        setWord(data, SP, at);
        pc = target;
        cycles += 4;
        continue;
      }
      case 45: {
        // CPSE
        if ((data[a] as number) !== (data[b] as number)) break;
        const skipped = wordsAt(progMem, pc + 1);
        pc += skipped;
        cycles += skipped;
        break;
      }
      case 46: // NOP
        break;
      case 47: {
        // DEC of a delay loop: whole turns of three cycles are skipped, but not the last, which sets the flags
        const left = (data[a] as number) || 0x100;
        const turns = Math.min(left - 1, Math.floor((limit - cycles) / 3));
        if (turns <= 0) {
          data[a] = resulted(data, (left - 1) & 255, left === 128 ? 0x18 : 0);
          break;
        }
        data[a] = left - turns;
        cycles += turns * 3;
        continue;
      }
      case 48: {
        // SBIW of a delay loop: turns of four cycles
        const left = wordAt(data, a) || 0x10000;
        const turns = Math.min(left - 1, Math.floor((limit - cycles) / 4));
        if (turns > 0) {
          setWord(data, a, left - turns);
          cycles += turns * 4;
          continue;
        }
        wordTaken(data, a, 1);
        cycles += 1;
        break;
      }
      case 34: // BCLR
        data[SREG] = flags & b;
        break;
      case 49: // BSET
        data[SREG] = flags | b;
        break;
      case 50: // BST
        data[SREG] = (data[a] as number) & b ? flags | T : flags & ~T;
        break;
      case 51: // BLD
        data[a] = flags & T ? (data[a] as number) | b : (data[a] as number) & ~b;
        break;
      default:
        break run;
    }
    pc += 1;
    cycles += 1;
  }
  cpu.pc = pc;
  cpu.cycles = cycles;
}
