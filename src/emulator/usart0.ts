import type { CPU } from 'avr8js';
import type { Agenda, Appointment } from './agenda.js';

const UCSR0A = 0xc0;
const UCSR0B = 0xc1;
const UCSR0C = 0xc2;
const UBRR0L = 0xc4;
const UBRR0H = 0xc5;
const UDR0 = 0xc6;

const RXC0 = 0x80;
const TXC0 = 0x40;
const UDRE0 = 0x20;
const DOR0 = 0x08;
const U2X0 = 0x02;
const MPCM0 = 0x01;
const RXEN0 = 0x10;
const TXEN0 = 0x08;
const UPM01 = 0x20;
const USBS0 = 0x08;

const interrupt = (vector: number, mask: number, constant: boolean) => ({
  address: vector,
  flagRegister: UCSR0A,
  flagMask: mask,
  enableRegister: UCSR0B,
  enableMask: mask,
  constant,
});
/** RXC and UDRE are levels: taking their vector does not clear them. */
const RX = interrupt(0x24, RXC0, true);
const UDRE = interrupt(0x26, UDRE0, true);
const TX = interrupt(0x28, TXC0, false);

/** Bytes the receiver holds besides the one in its shift register. */
const RECEIVE_FIFO = 2;

/** The serial port: a data register before the transmit shift register, a two-byte receive buffer with overrun. */
export class Usart0 {
  readonly #cpu: CPU;
  readonly #agenda: Agenda;
  readonly #sent: Appointment;
  readonly #onByte: (byte: number) => void;
  #shifting: number | null = null;
  #waiting: number | null = null;
  readonly #received: number[] = [];

  /** `onByte` is called at the end of each byte's stop bit. */
  constructor(cpu: CPU, agenda: Agenda, onByte: (byte: number) => void) {
    this.#cpu = cpu;
    this.#agenda = agenda;
    this.#onByte = onByte;
    this.#sent = agenda.register(() => this.#finishByte());
    cpu.data[UCSR0A] = UDRE0;
    cpu.data[UCSR0C] = 0x06;
    cpu.writeHooks[UCSR0A] = (value) => {
      cpu.data[UCSR0A] = ((cpu.data[UCSR0A] ?? 0) & ~(U2X0 | MPCM0)) | (value & (U2X0 | MPCM0));
      cpu.clearInterruptByFlag(TX, value);
      return true;
    };
    cpu.writeHooks[UCSR0B] = (value) => {
      cpu.data[UCSR0B] = value;
      if (!(value & RXEN0)) this.#flushReceiver();
      for (const each of [RX, UDRE, TX]) cpu.updateInterruptEnable(each, value);
      return true;
    };
    cpu.writeHooks[UDR0] = (value) => {
      this.#transmit(value);
      return true;
    };
    cpu.readHooks[UDR0] = () => this.#read();
  }

  /** A byte arrived whole on RXD. Lost when the receiver is off or full; the latter sets DOR0. */
  receive(byte: number): void {
    const cpu = this.#cpu;
    if (!((cpu.data[UCSR0B] ?? 0) & RXEN0)) return;
    if (this.#received.length >= RECEIVE_FIFO) {
      cpu.data[UCSR0A] = (cpu.data[UCSR0A] ?? 0) | DOR0;
      return;
    }
    this.#received.push(byte);
    cpu.setInterruptFlag(RX);
  }

  #read(): number {
    const cpu = this.#cpu;
    const byte = this.#received.shift() ?? 0;
    cpu.data[UCSR0A] = (cpu.data[UCSR0A] ?? 0) & ~DOR0;
    if (this.#received.length === 0) cpu.clearInterrupt(RX);
    return byte;
  }

  #flushReceiver(): void {
    this.#received.length = 0;
    this.#cpu.clearInterrupt(RX);
  }

  #transmit(byte: number): void {
    if (!((this.#cpu.data[UCSR0B] ?? 0) & TXEN0)) return;
    if (this.#shifting === null) this.#shift(byte);
    else if (this.#waiting === null) {
      this.#waiting = byte;
      this.#cpu.clearInterrupt(UDRE);
    }
  }

  #shift(byte: number): void {
    this.#shifting = byte;
    this.#agenda.schedule(this.#sent, this.#cpu.cycles + this.#cyclesPerByte());
  }

  #finishByte(): void {
    const byte = this.#shifting;
    this.#shifting = null;
    if (this.#waiting !== null) {
      const next = this.#waiting;
      this.#waiting = null;
      this.#shift(next);
      this.#cpu.setInterruptFlag(UDRE);
    } else {
      this.#cpu.setInterruptFlag(TX);
    }
    if (byte !== null) this.#onByte(byte);
  }

  #cyclesPerByte(): number {
    const register = (address: number) => this.#cpu.data[address] ?? 0;
    const divisor = (((register(UBRR0H) & 0x0f) << 8) | register(UBRR0L)) + 1;
    const control = register(UCSR0C);
    const dataBits = 5 + ((control >> 1) & 3);
    const bits = 1 + dataBits + (control & UPM01 ? 1 : 0) + (control & USBS0 ? 2 : 1);
    return bits * divisor * (register(UCSR0A) & U2X0 ? 8 : 16);
  }
}
