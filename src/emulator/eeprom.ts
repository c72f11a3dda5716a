import type { CPU } from 'avr8js';
import type { Agenda } from './agenda.js';

export const EEPROM_BYTES = 1024;

const EECR = 0x3f;
const EEDR = 0x40;
const EEARL = 0x41;
const EEARH = 0x42;

const EERE = 0x01;
const EEPE = 0x02;
const EEMPE = 0x04;
const EERIE = 0x08;
const EEPM = 0x30;

const ERASE_AND_WRITE_CYCLES = 54_400; // 3.4 ms at 16 MHz
const ERASE_OR_WRITE_CYCLES = 28_800; // 1.8 ms
const MASTER_WINDOW_CYCLES = 4;

/** Done when EEPE is zero, and for as long as it is. */
const READY = {
  address: 0x2c,
  flagRegister: EECR,
  flagMask: EEPE,
  enableRegister: EECR,
  enableMask: EERIE,
  constant: true,
  inverseFlag: true,
};

/** The EEPROM, 1024 bytes in `memory`, which outlives resets and power cuts. */
export function attachEeprom(cpu: CPU, agenda: Agenda, memory: Uint8Array): void {
  let masterUntil = 0;
  const finished = agenda.register(() => cpu.setInterruptFlag(READY));
  const register = (address: number) => cpu.data[address] ?? 0;

  const program = (address: number, mode: number) => {
    if (mode === EEPM) return;
    const old = memory[address] ?? 0xff;
    memory[address] = mode === 0 ? register(EEDR) : mode === 0x10 ? 0xff : old & register(EEDR);
    cpu.data[EECR] = register(EECR) | EEPE;
    agenda.schedule(finished, cpu.cycles + (mode === 0 ? ERASE_AND_WRITE_CYCLES : ERASE_OR_WRITE_CYCLES));
    cpu.cycles += 2;
  };

  cpu.readHooks[EECR] = () => register(EECR) | (cpu.cycles < masterUntil ? EEMPE : 0);
  cpu.writeHooks[EECR] = (value) => {
    const address = (register(EEARL) | (register(EEARH) << 8)) % EEPROM_BYTES;
    const busy = (register(EECR) & EEPE) !== 0;
    const isMastered = cpu.cycles < masterUntil;
    cpu.data[EECR] = (register(EECR) & EEPE) | (value & (EERIE | EEPM));
    cpu.updateInterruptEnable(READY, value);
    if (busy) return true;
    if (value & EEPE) {
      if (isMastered) program(address, value & EEPM);
    } else if (value & EEMPE) {
      masterUntil = cpu.cycles + 2 + MASTER_WINDOW_CYCLES;
    }
    if (value & EERE) {
      cpu.data[EEDR] = memory[address] ?? 0xff;
      cpu.cycles += 4;
    }
    return true;
  };
}
