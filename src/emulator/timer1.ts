import type { CPU } from 'avr8js';
import type { Agenda, Appointment } from './agenda.js';

const TIFR1 = 0x36;
const TIMSK1 = 0x6f;
const TCCR1B = 0x81;
const TCNT1L = 0x84;
const TCNT1H = 0x85;
const OCR1AL = 0x88;
const OCR1AH = 0x89;
const OCR1BL = 0x8a;
const OCR1BH = 0x8b;

const WGM12 = 0x08;
/** Prescaler by CS12:0; 0 stops the counter, and so do the external clocks, which nothing drives here. */
const PRESCALERS = [0, 1, 8, 64, 256, 1024, 0, 0];
const MAX = 0xffff;

const interrupt = (vector: number, mask: number) => ({
  address: vector,
  flagRegister: TIFR1,
  flagMask: mask,
  enableRegister: TIMSK1,
  enableMask: mask,
});
const OCF1A = interrupt(0x16, 0x02);
const OCF1B = interrupt(0x18, 0x04);
const TOV1 = interrupt(0x1a, 0x01);
const INTERRUPTS = [OCF1A, OCF1B, TOV1];

/**
 * The 16-bit timer in normal and CTC mode. The count is computed when it is read, and the agenda holds only
 * the next compare match or overflow. Compare outputs and input capture are not modelled.
 */
export class Timer1 {
  readonly #cpu: CPU;
  readonly #agenda: Agenda;
  readonly #appointment: Appointment;
  #prescaler = 0;
  /** The count and the cycle at which it began. */
  #count = 0;
  #countSince = 0;
  /** The high byte in waiting: 16-bit registers are reached through it. */
  #temp = 0;
  #ocr1a = 0;
  #ocr1b = 0;

  constructor(cpu: CPU, agenda: Agenda) {
    this.#cpu = cpu;
    this.#agenda = agenda;
    this.#appointment = agenda.register(() => this.#advance());
    this.#hookCounter();
    this.#hookCompare(OCR1AL, OCR1AH, (value) => {
      this.#ocr1a = value;
    });
    this.#hookCompare(OCR1BL, OCR1BH, (value) => {
      this.#ocr1b = value;
    });
    cpu.writeHooks[TCCR1B] = (value) => {
      this.#advance();
      cpu.data[TCCR1B] = value;
      this.#prescaler = PRESCALERS[value & 7] ?? 0;
      this.#countSince = cpu.cycles;
      this.#scheduleNext();
      return true;
    };
    cpu.writeHooks[TIMSK1] = (value) => {
      this.#advance();
      cpu.data[TIMSK1] = value;
      for (const each of INTERRUPTS) cpu.updateInterruptEnable(each, value);
      this.#scheduleNext();
      return true;
    };
    cpu.writeHooks[TIFR1] = (value) => {
      this.#advance();
      for (const each of INTERRUPTS) cpu.clearInterruptByFlag(each, value);
      return true;
    };
    cpu.readHooks[TIFR1] = () => {
      this.#advance();
      return cpu.data[TIFR1] ?? 0;
    };
  }

  #hookCounter(): void {
    const cpu = this.#cpu;
    cpu.readHooks[TCNT1L] = () => {
      this.#advance();
      this.#temp = this.#count >> 8;
      return this.#count & 0xff;
    };
    cpu.readHooks[TCNT1H] = () => this.#temp;
    cpu.writeHooks[TCNT1H] = (value) => {
      this.#temp = value;
      return true;
    };
    cpu.writeHooks[TCNT1L] = (value) => {
      this.#advance();
      this.#count = (this.#temp << 8) | value;
      this.#countSince = cpu.cycles;
      this.#scheduleNext();
      return true;
    };
  }

  #hookCompare(low: number, high: number, set: (value: number) => void): void {
    const { writeHooks, data } = this.#cpu;
    writeHooks[high] = (value) => {
      this.#temp = value;
      return true;
    };
    writeHooks[low] = (value) => {
      this.#advance();
      data[high] = this.#temp;
      data[low] = value;
      set((this.#temp << 8) | value);
      this.#scheduleNext();
      return true;
    };
  }

  get #top(): number {
    return (this.#cpu.data[TCCR1B] ?? 0) & WGM12 ? this.#ocr1a : MAX;
  }

  /** Counts from now until the counter leaves `value` (a match is flagged as the counter moves on). */
  #countsToLeave(value: number): number {
    const top = this.#count > this.#top ? MAX : this.#top;
    if (value > top) return Number.POSITIVE_INFINITY;
    return ((value - this.#count + top + 1) % (top + 1)) + 1;
  }

  /** Brings the count and the flags up to the present cycle. */
  #advance(): void {
    const cpu = this.#cpu;
    if (this.#prescaler === 0) return;
    let counts = Math.floor((cpu.cycles - this.#countSince) / this.#prescaler);
    if (counts <= 0) return;
    this.#countSince += counts * this.#prescaler;
    while (counts > 0) {
      const top = this.#count > this.#top ? MAX : this.#top;
      const step = Math.min(counts, top - this.#count + 1);
      for (const [flag, value] of [
        [OCF1A, this.#ocr1a],
        [OCF1B, this.#ocr1b],
        [TOV1, MAX],
      ] as const)
        if (value <= top && this.#countsToLeave(value) <= step) cpu.setInterruptFlag(flag);
      this.#count += step;
      if (this.#count > top) this.#count = 0;
      counts -= step;
    }
    this.#scheduleNext();
  }

  /** Only matches that interrupt need a moment of their own; other flags are found by #advance(). */
  #scheduleNext(): void {
    let counts = Number.POSITIVE_INFINITY;
    if (this.#prescaler !== 0) {
      const enabled = this.#cpu.data[TIMSK1] ?? 0;
      if (enabled & OCF1A.enableMask) counts = this.#countsToLeave(this.#ocr1a);
      if (enabled & OCF1B.enableMask) counts = Math.min(counts, this.#countsToLeave(this.#ocr1b));
      if (enabled & TOV1.enableMask) counts = Math.min(counts, this.#countsToLeave(MAX));
    }
    this.#agenda.schedule(this.#appointment, this.#countSince + counts * (this.#prescaler || 1));
  }
}
