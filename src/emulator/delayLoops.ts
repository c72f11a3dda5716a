/** What the run loop has to know about the instruction at each flash word before it executes it. */
export const PLAIN = 0;
/** `dec rd; brne .-4`: three cycles a turn. */
export const DEC_LOOP = 1;
/** `sbiw rd, 1; brne .-4`: four cycles a turn. */
export const SBIW_LOOP = 2;
/** SEI or RETI: one more instruction runs before an interrupt is taken. */
export const INTERRUPT_SHADOW = 3;
export const SLEEP = 4;
/** CBI takes two cycles; avr8js 0.21.1 counts one. */
export const CBI = 5;

const BRNE_TO_PREVIOUS = 0xf7f1;
const SEI = 0x9478;
const RETI = 0x9518;
const SLEEP_OPCODE = 0x9588;

function kindOf(opcode: number, next: number | undefined): number {
  if (opcode === SLEEP_OPCODE) return SLEEP;
  if ((opcode & 0xff00) === 0x9800) return CBI;
  if (opcode === SEI || opcode === RETI) return INTERRUPT_SHADOW;
  if (next !== BRNE_TO_PREVIOUS) return PLAIN;
  if ((opcode & 0xfe0f) === 0x940a) return DEC_LOOP;
  if ((opcode & 0xffcf) === 0x9701) return SBIW_LOOP;
  return PLAIN;
}

/** Marks every flash word of `program` with one of the kinds above. */
export function markInstructions(program: Uint16Array): Uint8Array {
  return Uint8Array.from(program, (opcode, index) => kindOf(opcode, program[index + 1]));
}

/**
 * Skips whole turns of the delay loop `kind` whose first instruction is `opcode`, but not the last turn (it
 * sets the flags) and not past `limit`. Returns the cycles skipped; the counter in `registers` is moved on.
 */
export function skipTurns(
  kind: number,
  opcode: number,
  registers: Uint8Array,
  cycles: number,
  limit: number,
): number {
  if (kind === DEC_LOOP) {
    const r = (opcode >> 4) & 0x1f;
    const left = registers[r] || 0x100;
    const turns = Math.min(left - 1, Math.floor((limit - cycles) / 3));
    if (turns <= 0) return 0;
    registers[r] = left - turns;
    return turns * 3;
  }
  const r = 24 + ((opcode >> 3) & 0x06);
  const left = (registers[r] ?? 0) | ((registers[r + 1] ?? 0) << 8) || 0x10000;
  const turns = Math.min(left - 1, Math.floor((limit - cycles) / 4));
  if (turns <= 0) return 0;
  registers[r] = (left - turns) & 0xff;
  registers[r + 1] = (left - turns) >> 8;
  return turns * 4;
}
