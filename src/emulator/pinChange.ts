import type { CPU } from 'avr8js';

const PCIFR = 0x3b;
const PCICR = 0x68;
const PCMSK2 = 0x6d;

const PCINT2 = {
  address: 0x0a,
  flagRegister: PCIFR,
  flagMask: 0x04,
  enableRegister: PCICR,
  enableMask: 0x04,
};

/** The pin change interrupt of port D. Call the result when pins change; its argument masks those that did. */
export function attachPinChange(cpu: CPU): (changed: number) => void {
  cpu.writeHooks[PCICR] = (value) => {
    cpu.data[PCICR] = value;
    cpu.updateInterruptEnable(PCINT2, value);
    return true;
  };
  cpu.writeHooks[PCIFR] = (value) => {
    cpu.clearInterruptByFlag(PCINT2, value);
    return true;
  };
  return (changed) => {
    if (changed & (cpu.data[PCMSK2] ?? 0)) cpu.setInterruptFlag(PCINT2);
  };
}
