import { CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { attachPort, PORT_D } from '../../src/emulator/port.js';

const PIND = 0x29;
const DDRD = 0x2a;
const PORTD = 0x2b;

function port() {
  const cpu = new CPU(new Uint16Array(16), 2048);
  const said: string[] = [];
  const driven: number[] = [];
  let isHigh = true;
  const line = {
    pull: (cycle: number) => said.push(`pull ${cycle}`),
    release: (cycle: number) => said.push(`release ${cycle}`),
    isHigh: () => isHigh,
    drivenHigh: () => said.push('driven high'),
  };
  attachPort(cpu, PORT_D, {
    lines: { 2: line },
    heldLow: () => 0x80,
    onDrivenHigh: (mask) => driven.push(mask),
  });
  const setLevel = (high: boolean) => {
    isHigh = high;
  };
  return { cpu, said, driven, setLevel };
}

describe('the open-drain pin', () => {
  test('is pulled and released by its direction bit, once each', () => {
    const { cpu, said } = port();
    cpu.cycles = 100;
    cpu.writeData(DDRD, 0x04);
    cpu.writeData(DDRD, 0x0c);
    cpu.cycles = 200;
    cpu.writeData(DDRD, 0x08);
    expect(said).toEqual(['pull 100', 'release 200']);
  });

  test('shows the level of the line at the moment it is read', () => {
    const { cpu, setLevel } = port();
    expect(cpu.readData(PIND)).toBe(0x04);
    setLevel(false);
    expect(cpu.readData(PIND)).toBe(0x00);
  });

  test('complains when it drives high', () => {
    const { cpu, said } = port();
    cpu.writeData(PORTD, 0x04);
    cpu.writeData(DDRD, 0x04);
    expect(said).toContain('driven high');
  });

  test('leaves the other pins at their pull-ups', () => {
    const { cpu, setLevel } = port();
    setLevel(false);
    cpu.writeData(PORTD, 0x30);
    expect(cpu.readData(PIND)).toBe(0x30);
  });

  test('reads 0 where something outside holds it low', () => {
    const { cpu } = port();
    cpu.writeData(PORTD, 0xc0);
    expect(cpu.readData(PIND)).toBe(0x44);
  });

  test('tells which pins are driven high', () => {
    const { cpu, driven } = port();
    cpu.writeData(DDRD, 0x20);
    cpu.writeData(PORTD, 0x60);
    cpu.writeData(PORTD, 0x40);
    expect(driven).toEqual([0x20, 0x00]);
  });
});
