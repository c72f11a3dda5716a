import { CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { Agenda } from '../../src/emulator/agenda.js';
import { Timer1 } from '../../src/emulator/timer1.js';

const TIFR1 = 0x36;
const TIMSK1 = 0x6f;
const TCCR1B = 0x81;
const TCNT1 = 0x84;
const OCR1A = 0x88;
const OCR1B = 0x8a;

const CTC_BY_64 = 0x08 | 0x03;
const NORMAL_BY_8 = 0x02;

function timer() {
  const cpu = new CPU(new Uint16Array(16), 2048);
  const agenda = new Agenda();
  new Timer1(cpu, agenda);
  const write16 = (low: number, value: number) => {
    cpu.writeData(low + 1, value >> 8);
    cpu.writeData(low, value & 0xff);
  };
  const count = () => {
    const low = cpu.readData(TCNT1);
    return low | (cpu.readData(TCNT1 + 1) << 8);
  };
  const flags = () => cpu.readData(TIFR1);
  /** Moves to `cycle`, running what falls due on the way. */
  const to = (cycle: number) => {
    while (agenda.next <= cycle) {
      cpu.cycles = agenda.next;
      agenda.run(cpu.cycles);
    }
    cpu.cycles = cycle;
  };
  return { cpu, agenda, write16, count, flags, to };
}

describe('Timer1', () => {
  test('counts up by its prescaler and starts over behind OCR1A in CTC mode', () => {
    const { cpu, write16, count, to } = timer();
    write16(OCR1A, 99);
    cpu.writeData(TCCR1B, CTC_BY_64);
    for (const [cycle, value] of [
      [0, 0],
      [63, 0],
      [64, 1],
      [64 * 99, 99],
      [64 * 99 + 63, 99],
      [64 * 100, 0],
      [64 * 250, 50],
    ] as const) {
      to(cycle);
      expect(count(), `cycle ${cycle}`).toBe(value);
    }
  });

  test('interrupts exactly when the count leaves OCR1A', () => {
    const { cpu, agenda, write16, flags, to } = timer();
    write16(OCR1A, 62_499);
    cpu.writeData(TIMSK1, 0x02);
    cpu.writeData(TCCR1B, CTC_BY_64);
    expect(agenda.next).toBe(4_000_000); // 250 ms at 16 MHz
    to(3_999_999);
    expect(flags() & 0x02).toBe(0);
    to(4_000_000);
    expect(flags() & 0x02).toBe(0x02);
    expect(cpu.nextInterrupt).toBe(0x16);
    expect(agenda.next).toBe(8_000_000);
    cpu.writeData(TIFR1, 0x02);
    expect(flags() & 0x02).toBe(0);
    expect(cpu.nextInterrupt).toBe(-1);
  });

  test('flags a match that nobody asked to be told of, when it is looked for', () => {
    const { cpu, agenda, write16, flags, to } = timer();
    write16(OCR1B, 10);
    cpu.writeData(TCCR1B, NORMAL_BY_8);
    expect(agenda.next).toBe(Number.POSITIVE_INFINITY);
    to(8 * 11 - 1);
    expect(flags() & 0x04).toBe(0);
    to(8 * 11);
    expect(flags() & 0x04).toBe(0x04);
  });

  test('overflows behind FFFF in normal mode', () => {
    const { cpu, write16, count, flags, to } = timer();
    cpu.writeData(TCCR1B, NORMAL_BY_8);
    write16(TCNT1, 0xfff0);
    to(8 * 15);
    expect(count()).toBe(0xffff);
    expect(flags() & 0x01).toBe(0);
    to(8 * 16);
    expect(count()).toBe(0);
    expect(flags() & 0x01).toBe(0x01);
  });

  test('stands still without a prescaler, and goes on from there', () => {
    const { cpu, count, to } = timer();
    cpu.writeData(TCCR1B, NORMAL_BY_8);
    to(80);
    cpu.writeData(TCCR1B, 0);
    to(8000);
    expect(count()).toBe(10);
    cpu.writeData(TCCR1B, NORMAL_BY_8);
    to(8080);
    expect(count()).toBe(20);
  });
});
