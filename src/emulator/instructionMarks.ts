/** What the run loop has to know about the instruction at each flash word before it executes it. */
export const PLAIN = 0;
/** SEI or RETI: one more instruction runs before an interrupt is taken. */
export const INTERRUPT_SHADOW = 1;
export const SLEEP = 2;
/** CBI takes two cycles; avr8js 0.21.1 counts one. */
export const CBI = 3;

const SEI = 0x9478;
const RETI = 0x9518;
const SLEEP_OPCODE = 0x9588;

function kindOf(opcode: number): number {
  if (opcode === SLEEP_OPCODE) return SLEEP;
  if ((opcode & 0xff00) === 0x9800) return CBI;
  return opcode === SEI || opcode === RETI ? INTERRUPT_SHADOW : PLAIN;
}

/** Marks every flash word of `program` with one of the kinds above. */
export function markInstructions(program: Uint16Array): Uint8Array {
  return Uint8Array.from(program, kindOf);
}
