import type { CPU } from 'avr8js';

const PIND = 0x29;
const DDRD = 0x2a;
const PORTD = 0x2b;

/** What hangs on an open-drain pin. Times are clock cycles since power-on. */
export interface OpenDrainLine {
  pull(cycle: number): void;
  release(cycle: number): void;
  isHigh(cycle: number): boolean;
  /** The pin was made to drive against the line. */
  drivenHigh(): void;
}

/**
 * Port D with one line on pin `bit`, driven low by DDRD while PORTD is 0. Its level is asked for only when
 * PIND is read. The other pins read their pull-up, or 0.
 */
export function attachPortD(cpu: CPU, bit: number, line: OpenDrainLine): void {
  const mask = 1 << bit;
  const register = (address: number) => cpu.data[address] ?? 0;
  const isPulled = () => (register(DDRD) & mask) !== 0 && (register(PORTD) & mask) === 0;
  const write = (address: number, value: number) => {
    const was = isPulled();
    cpu.data[address] = value;
    if (register(DDRD) & register(PORTD) & mask) line.drivenHigh();
    if (isPulled() === was) return;
    if (was) line.release(cpu.cycles);
    else line.pull(cpu.cycles);
  };
  for (const address of [DDRD, PORTD])
    cpu.writeHooks[address] = (value) => {
      write(address, value);
      return true;
    };
  cpu.writeHooks[PIND] = (value, _old, _address, changed) => {
    write(PORTD, register(PORTD) ^ (value & changed));
    return true;
  };
  cpu.readHooks[PIND] = () => {
    const level = line.isHigh(cpu.cycles) ? mask : 0;
    return (register(PORTD) & ~mask) | level;
  };
}
