import type { CPU } from 'avr8js';

/** Where an I/O port's three registers lie in data space. */
export interface PortAddresses {
  readonly pin: number;
  readonly ddr: number;
  readonly port: number;
}
export const PORT_B: PortAddresses = { pin: 0x23, ddr: 0x24, port: 0x25 };
export const PORT_C: PortAddresses = { pin: 0x26, ddr: 0x27, port: 0x28 };
export const PORT_D: PortAddresses = { pin: 0x29, ddr: 0x2a, port: 0x2b };

/** What hangs on an open-drain pin. Times are clock cycles since power-on. */
export interface OpenDrainLine {
  pull(cycle: number): void;
  release(cycle: number): void;
  isHigh(cycle: number): boolean;
  /** The pin was made to drive against the line. */
  drivenHigh(): void;
}

export interface PortOptions {
  /** By pin number. Driven low by DDR while PORT is 0; its level is asked for only when PIN is read. */
  readonly lines?: Readonly<Record<number, OpenDrainLine>>;
  /** Pins with a pull-up outside; a mask. */
  readonly pulledUp?: number;
  /** Pins that something outside holds low at present; a mask. */
  readonly heldLow?: () => number;
  /** The pins that are driven high, after each change; a mask. */
  readonly onDrivenHigh?: (mask: number) => void;
}

/** One I/O port. A pin that nothing outside drives reads its pull-up or its own output, or 0. */
export function attachPort(cpu: CPU, addresses: PortAddresses, options: PortOptions): void {
  const { pin, ddr, port } = addresses;
  const lines = Object.entries(options.lines ?? {}).map(([bit, line]) => ({ mask: 1 << Number(bit), line }));
  const lineMask = lines.reduce((mask, each) => mask | each.mask, 0);
  const { data } = cpu;
  const register = (address: number) => data[address] ?? 0;
  const write = (address: number, value: number) => {
    const pulledBefore = register(ddr) & ~register(port);
    const highBefore = register(ddr) & register(port);
    data[address] = value;
    const changed = pulledBefore ^ (register(ddr) & ~register(port));
    const high = register(ddr) & register(port);
    // Counted, for this is where a third of a board's time goes.
    if ((changed | high) & lineMask)
      for (let index = 0; index < lines.length; index += 1) {
        const { mask, line } = lines[index]!;
        if (changed & mask) {
          if (pulledBefore & mask) line.release(cpu.cycles);
          else line.pull(cpu.cycles);
        }
        if (high & mask) line.drivenHigh();
      }
    if (high !== highBefore) options.onDrivenHigh?.(high);
  };
  for (const address of [ddr, port])
    cpu.writeHooks[address] = (value) => {
      write(address, value);
      return true;
    };
  cpu.writeHooks[pin] = (value, _old, _address, changed) => {
    write(port, register(port) ^ (value & changed));
    return true;
  };
  cpu.readHooks[pin] = () => {
    const free = register(port) | ((options.pulledUp ?? 0) & ~register(ddr));
    let level = free & ~lineMask & ~(options.heldLow?.() ?? 0);
    for (let index = 0; index < lines.length; index += 1)
      if (lines[index]!.line.isHigh(cpu.cycles)) level |= lines[index]!.mask;
    return level;
  };
}
