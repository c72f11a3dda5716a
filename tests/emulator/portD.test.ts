import { CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { attachPortD } from '../../src/emulator/portD.js';

const PIND = 0x29;
const DDRD = 0x2a;
const PORTD = 0x2b;

function port() {
  const cpu = new CPU(new Uint16Array(16), 2048);
  const said: string[] = [];
  let isHigh = true;
  attachPortD(cpu, 2, {
    pull: (cycle) => said.push(`pull ${cycle}`),
    release: (cycle) => said.push(`release ${cycle}`),
    isHigh: () => isHigh,
    drivenHigh: () => said.push('driven high'),
  });
  const setLevel = (high: boolean) => {
    isHigh = high;
  };
  return { cpu, said, setLevel };
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
});
