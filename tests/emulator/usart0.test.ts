import { CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { Agenda } from '../../src/emulator/agenda.js';
import { Usart0 } from '../../src/emulator/usart0.js';

const UCSR0A = 0xc0;
const UCSR0B = 0xc1;
const UBRR0L = 0xc4;
const UDR0 = 0xc6;
const RXC0 = 0x80;
const TXC0 = 0x40;
const UDRE0 = 0x20;
const DOR0 = 0x08;
const TXEN0 = 0x08;
const RXEN0 = 0x10;
const UDRIE0 = 0x20;

function usart() {
  const cpu = new CPU(new Uint16Array(16), 2048);
  const agenda = new Agenda();
  const sent: [byte: number, cycle: number][] = [];
  const port = new Usart0(cpu, agenda, (byte) => sent.push([byte, cpu.cycles]));
  cpu.writeData(UBRR0L, 25);
  const status = (mask: number) => (cpu.readData(UCSR0A) & mask) !== 0;
  const to = (cycle: number) => {
    while (agenda.next <= cycle) {
      cpu.cycles = agenda.next;
      agenda.run(cpu.cycles);
    }
    cpu.cycles = cycle;
  };
  return { cpu, port, sent, status, to };
}

/** Ten bits of 26 times 16 cycles. */
const BYTE_CYCLES = 4160;

describe('the transmitter', () => {
  test('takes a second byte while the first is shifted out, and a third only after it', () => {
    const { cpu, sent, status, to } = usart();
    cpu.writeData(UCSR0B, TXEN0);
    expect(status(UDRE0)).toBe(true);
    cpu.writeData(UDR0, 1);
    expect(status(UDRE0)).toBe(true);
    cpu.writeData(UDR0, 2);
    expect(status(UDRE0)).toBe(false);
    cpu.writeData(UDR0, 3);
    to(BYTE_CYCLES);
    expect(status(UDRE0)).toBe(true);
    expect(status(TXC0)).toBe(false);
    to(3 * BYTE_CYCLES);
    expect(status(TXC0)).toBe(true);
    expect(sent).toEqual([
      [1, BYTE_CYCLES],
      [2, 2 * BYTE_CYCLES],
    ]);
  });

  test('keeps asking for data until it is forbidden to', () => {
    const { cpu } = usart();
    cpu.writeData(UCSR0B, TXEN0 | UDRIE0);
    cpu.writeData(0x5f, 0x80);
    cpu.tick();
    expect(cpu.pc).toBe(0x26);
    expect(cpu.nextInterrupt).toBe(0x26);
    cpu.writeData(UCSR0B, TXEN0);
    expect(cpu.nextInterrupt).toBe(-1);
  });

  test('keeps UDRE when UCSR0A is written', () => {
    const { cpu, status } = usart();
    cpu.writeData(UCSR0B, TXEN0);
    cpu.writeData(UCSR0A, 0);
    expect(status(UDRE0)).toBe(true);
  });

  test('sends nothing while it is off', () => {
    const { cpu, sent, to } = usart();
    cpu.writeData(UDR0, 1);
    to(10 * BYTE_CYCLES);
    expect(sent).toEqual([]);
  });
});

describe('the receiver', () => {
  test('holds two bytes, loses the third and says so', () => {
    const { cpu, port, status } = usart();
    cpu.writeData(UCSR0B, RXEN0);
    for (const byte of [7, 8, 9]) port.receive(byte);
    expect(status(RXC0)).toBe(true);
    expect(status(DOR0)).toBe(true);
    expect(cpu.readData(UDR0)).toBe(7);
    expect(status(RXC0)).toBe(true);
    expect(cpu.readData(UDR0)).toBe(8);
    expect(status(RXC0)).toBe(false);
    expect(status(DOR0)).toBe(false);
  });

  test('hears nothing while it is off', () => {
    const { port, status } = usart();
    port.receive(7);
    expect(status(RXC0)).toBe(false);
  });
});
