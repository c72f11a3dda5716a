/**
 * The instructions that a program mostly consists of, decoded once: those that touch nothing but registers, flags, the stack
 * and SRAM, and those that reach a peripheral. They do as avr8js's do, to the bit and the cycle, without its search for the
 * right one at each step.
 *
 * By flash word, in bits 0 to 7 which `case` of `runPlain()` it is, or of `reach()` from `FIRST_REACH` on; 0 for all that is left
 * to avr8js. In bits 8 to 15 its register, flag or bit; in bits 16 to 31 its other register, constant, address, jump's target, or
 * pointer and displacement.
 */
export type Decoded = Uint32Array;

/** Of a decoded instruction. */
export const kindOf = (word: number): number => word & 0xff;

/** From this kind on an instruction may be heard by a peripheral, or let an interrupt be taken. */
export const FIRST_REACH = 64;
/** Behind these one more instruction runs before an interrupt is taken. */
export const SEI = 72;
export const RETI = 73;
export const SLEEP = 74;

/** Below are registers and what peripherals listen to. */
const SRAM = 0x100;
/** The stack pointer and the flags, which no peripheral listens to. */
const [SP_LOW, SREG] = [0x5d, 0x5f] as const;
const [X, Y, Z] = [26, 28, 30].map((register) => register / 2) as [number, number, number];

type Operands = readonly [kind: number, a: number, b: number];
const NOT_PLAIN: Operands = [0, 0, 0];

const register = (opcode: number) => (opcode >> 4) & 0x1f;
const upperRegister = (opcode: number) => 16 + ((opcode >> 4) & 0x0f);
const otherRegister = (opcode: number) => (opcode & 0x0f) | ((opcode >> 5) & 0x10);
const constant = (opcode: number) => (opcode & 0x0f) | ((opcode >> 4) & 0xf0);
const displacement = (opcode: number) => (opcode & 7) | ((opcode >> 7) & 0x18) | ((opcode >> 8) & 0x20);

/** ADD, ADC, SUB, SBC, CP, CPC, AND, OR, EOR, MOV by the upper six bits of an instruction of two registers. */
const OF_TWO: Readonly<Record<number, number>> = {
  3: 1,
  7: 2,
  6: 3,
  2: 4,
  5: 5,
  1: 6,
  8: 7,
  10: 8,
  9: 9,
  11: 10,
};
/** CPI, SBCI, SUBI, ORI, ANDI, LDI by the upper four bits of an instruction of a register and a constant. */
const OF_CONSTANT: Readonly<Record<number, number>> = { 3: 11, 4: 12, 5: 13, 6: 14, 7: 15, 14: 16 };
/** COM, SWAP, INC, LSR, ROR, DEC by the last four bits of 1001 010d dddd. */
const OF_ONE: Readonly<Record<number, number>> = { 0: 17, 2: 18, 3: 19, 6: 20, 7: 21, 10: 22 };
/** Pointers by the last four bits of 1001 00sd dddd: those that are moved on afterwards, and X that is not. */
const MOVED_ON: Readonly<Record<number, number>> = { 1: Z, 9: Y, 13: X };

function ofMemory(opcode: number, next: number): Operands {
  const [isStore, low] = [(opcode & 0x0200) !== 0, opcode & 0x0f];
  const through = (pointer: number, distance: number): Operands => [
    isStore ? 28 : 27,
    register(opcode),
    (pointer << 8) | distance,
  ];
  if ((opcode & 0xd000) === 0x8000) return through(opcode & 8 ? Y : Z, displacement(opcode));
  if (low === 0)
    return [next < SRAM ? FIRST_REACH + (isStore ? 7 : 6) : isStore ? 32 : 31, register(opcode), next];
  if (low === 12) return through(X, 0);
  if (low === 15) return [isStore ? 36 : 35, register(opcode), 0];
  const pointer = MOVED_ON[low];
  return pointer === undefined ? NOT_PLAIN : [isStore ? 38 : 37, register(opcode), pointer];
}

/** Where a jump from word `pc` leads, if that lies in the flash. */
function jump(kind: number, a: number, target: number, words: number): Operands {
  return target < 0 || target >= words ? NOT_PLAIN : [kind, a, target];
}

/** `brne .-4`: back to the instruction before it. */
const BRNE_TO_PREVIOUS = 0xf7f1;

/** `dec rd` or `sbiw rd, 1` before that: a delay loop. */
function ofDelay(opcode: number): Operands {
  if ((opcode & 0xfe0f) === 0x940a) return [47, register(opcode), 0];
  return (opcode & 0xffcf) === 0x9701 ? [48, 24 + ((opcode >> 3) & 6), 0] : NOT_PLAIN;
}

/** BSET and BCLR. */
function ofFlag(opcode: number): Operands {
  const flag = 1 << ((opcode >> 4) & 7);
  if (opcode & 0x0080) return [34, 0, 0xff & ~flag];
  return [flag === 0x80 ? SEI : 49, 0, flag];
}

/** IN and OUT, of which those of the flags and the stack pointer are heard by nobody. */
function ofPort(opcode: number): Operands {
  const address = 0x20 + ((opcode & 0x0f) | ((opcode >> 5) & 0x30));
  const isOut = (opcode & 0x0800) !== 0;
  if (address < SP_LOW) return [FIRST_REACH + (isOut ? 5 : 4), register(opcode), address];
  return isOut ? [address === SREG ? 29 : 10, address, register(opcode)] : [10, register(opcode), address];
}

/** JMP and CALL, with a target in the second word. */
function ofFar(opcode: number, target: number, words: number): Operands {
  return opcode & 0x01f1 ? NOT_PLAIN : jump(opcode & 2 ? 33 : 30, 0, target, words);
}

function operands(program: Uint16Array, pc: number): Operands {
  const [opcode, next] = [program[pc] as number, program[pc + 1] as number];
  const delay = next === BRNE_TO_PREVIOUS ? ofDelay(opcode) : NOT_PLAIN;
  if (delay !== NOT_PLAIN) return delay;
  const upper = opcode >> 12;
  const ofTwo = OF_TWO[opcode >> 10];
  if (ofTwo !== undefined) return [ofTwo, register(opcode), otherRegister(opcode)];
  const ofConstant = OF_CONSTANT[upper];
  if (ofConstant !== undefined) return [ofConstant, upperRegister(opcode), constant(opcode)];
  if ((opcode & 0xff00) === 0x0100) return [23, (opcode >> 3) & 0x1e, (opcode << 1) & 0x1e]; // MOVW
  if ((opcode & 0xfc00) === 0x9000 || (opcode & 0xd000) === 0x8000) return ofMemory(opcode, next);
  if ((opcode & 0xf800) === 0xf000) {
    // BRBS, BRBC
    const away = ((opcode >> 3) & 0x3f) - (((opcode >> 3) & 0x40) !== 0 ? 0x40 : 0);
    return jump(opcode & 0x0400 ? 25 : 24, 1 << (opcode & 7), pc + 1 + away, program.length);
  }
  if (upper === 0xc || upper === 0xd) {
    // RJMP, RCALL
    const away = (opcode & 0x7ff) - (opcode & 0x800);
    return jump(upper === 0xc ? 26 : 39, 0, pc + 1 + away, program.length);
  }
  if ((opcode & 0xfc08) === 0xfc00) return [opcode & 0x0200 ? 41 : 40, register(opcode), 1 << (opcode & 7)]; // SBRS, SBRC
  if ((opcode & 0xfe00) === 0x9600)
    // ADIW, SBIW
    return [opcode & 0x0100 ? 43 : 42, 24 + ((opcode >> 3) & 6), (opcode & 0x0f) | ((opcode >> 2) & 0x30)];
  if (opcode === 0x9508) return [44, 0, 0]; // RET
  if (opcode === 0x9518) return [RETI, 0, 0];
  if (opcode === 0x9588) return [SLEEP, 0, 0];
  if (opcode === 0x95a8) return [75, 0, 0]; // WDR
  if (opcode >> 10 === 0x04) return [45, register(opcode), otherRegister(opcode)]; // CPSE
  if (opcode === 0) return [46, 0, 0]; // NOP
  if ((opcode & 0xff0f) === 0x9408) return ofFlag(opcode);
  if ((opcode & 0xfe0c) === 0x940c) return ofFar(opcode, next, program.length);
  if ((opcode & 0xfc08) === 0xf800) return [opcode & 0x0200 ? 50 : 51, register(opcode), 1 << (opcode & 7)]; // BST, BLD
  if (upper === 0xb) return ofPort(opcode);
  if ((opcode & 0xfc00) === 0x9800)
    // CBI, SBIC, SBI, SBIS
    return [FIRST_REACH + ((opcode >> 8) & 3), 1 << (opcode & 7), 0x20 + ((opcode >> 3) & 0x1f)];
  const ofOne = (opcode & 0xfe00) === 0x9400 ? OF_ONE[opcode & 0x0f] : undefined;
  return ofOne === undefined ? NOT_PLAIN : [ofOne, register(opcode), 0];
}

/** Decodes `program` where `isWanted` allows it. In the last words only what reaches out: behind them it begins again. */
export function decode(program: Uint16Array, isWanted: (opcode: number) => boolean = () => true): Decoded {
  const decoded = new Uint32Array(program.length);
  for (let pc = 0; pc < program.length; pc += 1) {
    if (!isWanted(program[pc] as number)) continue;
    const [kind, a, b] = operands(program, pc);
    if (kind < FIRST_REACH && pc >= program.length - 3) continue;
    decoded[pc] = kind | (a << 8) | (b << 16);
  }
  return decoded;
}
