import { CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { Agenda } from '../../src/emulator/agenda.js';
import { attachEeprom, EEPROM_BYTES } from '../../src/emulator/eeprom.js';

const EECR = 0x3f;
const EEDR = 0x40;
const EEARL = 0x41;
const EEARH = 0x42;
const EERE = 0x01;
const EEPE = 0x02;
const EEMPE = 0x04;

function eeprom() {
  const cpu = new CPU(new Uint16Array(16), 2048);
  const agenda = new Agenda();
  const memory = new Uint8Array(EEPROM_BYTES).fill(0xff);
  attachEeprom(cpu, agenda, memory);
  const address = (value: number) => {
    cpu.writeData(EEARL, value & 0xff);
    cpu.writeData(EEARH, value >> 8);
  };
  const isBusy = () => (cpu.readData(EECR) & EEPE) !== 0;
  return { cpu, agenda, memory, address, isBusy };
}

describe('the EEPROM', () => {
  test('writes a byte within 3.4 ms of the two steps, and reads it back', () => {
    const { cpu, agenda, memory, address, isBusy } = eeprom();
    address(0x2a5);
    cpu.writeData(EEDR, 0x5a);
    cpu.writeData(EECR, EEMPE);
    cpu.cycles += 2;
    cpu.writeData(EECR, EEMPE | EEPE);
    expect(isBusy()).toBe(true);
    expect(agenda.next).toBe(2 + 54_400);
    cpu.cycles = agenda.next;
    agenda.run(cpu.cycles);
    expect(isBusy()).toBe(false);
    expect(memory[0x2a5]).toBe(0x5a);
    cpu.writeData(EEDR, 0);
    cpu.writeData(EECR, EERE);
    expect(cpu.readData(EEDR)).toBe(0x5a);
  });

  test('writes nothing without the first step, or too late after it', () => {
    const { cpu, memory, address, isBusy } = eeprom();
    address(3);
    cpu.writeData(EEDR, 0);
    cpu.writeData(EECR, EEPE);
    cpu.writeData(EECR, EEMPE);
    cpu.cycles += 20;
    cpu.writeData(EECR, EEPE);
    expect(isBusy()).toBe(false);
    expect(memory[3]).toBe(0xff);
  });

  test('ignores another write while one is under way', () => {
    const { cpu, memory, address } = eeprom();
    for (const [at, byte] of [
      [1, 0x11],
      [2, 0x22],
    ] as const) {
      address(at);
      cpu.writeData(EEDR, byte);
      cpu.writeData(EECR, EEMPE);
      cpu.writeData(EECR, EEMPE | EEPE);
    }
    expect([...memory.slice(1, 3)]).toEqual([0x11, 0xff]);
  });
});
