import type { CPU } from 'avr8js';
import { type Decoded, FIRST_REACH } from './decode.js';
import { wordsAt } from './plainRun.js';

/** Bound here once: a test runner makes each use of an import a look-up. */
const [FIRST, wordsOf] = [FIRST_REACH, wordsAt];
const SREG = 95;
const I = 0x80;

function skip(cpu: CPU): void {
  const skipped = wordsOf(cpu.progMem, cpu.pc + 1);
  cpu.pc += skipped;
  cpu.cycles += skipped;
}

/** Executes the one instruction at which `cpu` stands. A peripheral that hears it may take cycles of its own. */
export function reach(cpu: CPU, decoded: Decoded): void {
  const { data, pc } = cpu;
  const word = decoded[pc] as number;
  const a = (word >>> 8) & 0xff;
  const b = word >>> 16;
  switch ((word & 0xff) - FIRST) {
    case 0: // CBI takes two cycles; avr8js 0.21.1 counts one
      cpu.writeData(b, cpu.readData(b) & ~a, a);
      cpu.cycles += 1;
      break;
    case 1: // SBIC
      if ((cpu.readData(b) & a) === 0) skip(cpu);
      break;
    case 2: // SBI
      cpu.writeData(b, cpu.readData(b) | a, a);
      cpu.cycles += 1;
      break;
    case 3: // SBIS
      if ((cpu.readData(b) & a) !== 0) skip(cpu);
      break;
    case 4: // IN
      data[a] = cpu.readData(b);
      break;
    case 5: // OUT
      cpu.writeData(b, data[a] as number);
      break;
    case 6: // LDS
      cpu.cycles += 1;
      data[a] = cpu.readData(b);
      cpu.pc += 1;
      break;
    case 7: // STS
      cpu.writeData(b, data[a] as number);
      cpu.pc += 1;
      cpu.cycles += 1;
      break;
    case 9: // RETI
      cpu.SP += 2;
      cpu.pc = ((data[cpu.SP - 1] as number) << 8) + (data[cpu.SP] as number) - 1;
      cpu.cycles += 3;
      data[SREG] = (data[SREG] as number) | I;
      break;
    case 8: // SEI
      data[SREG] = (data[SREG] as number) | I;
      break;
    case 11: // WDR
      cpu.onWatchdogReset();
      break;
    default: // SLEEP: what it does is up to whoever runs this
  }
  cpu.pc += 1;
  cpu.cycles += 1;
}
