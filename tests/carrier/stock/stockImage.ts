import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import {
  AVRADC,
  AVRIOPort,
  AVRTimer,
  AVRUSART,
  adcConfig,
  avrInstruction,
  CPU,
  portBConfig,
  portCConfig,
  portDConfig,
  timer0Config,
  timer1Config,
  timer2Config,
  usart0Config,
} from 'avr8js';
import { loadImage } from '../../../src/emulator/image.js';

/** The StandardFirmata that the npm package avrgirl-arduino 5.0.1 (MIT) carries for a board with an ATmega328P at 16 MHz. */
const IMAGE = fileURLToPath(
  new URL('../../../node_modules/avrgirl-arduino/junk/hex/uno/StandardFirmata.cpp.hex', import.meta.url),
);
const HZ = 16_000_000;
const SRAM_BYTES = 2048;

/** Why tests with the image are skipped, null when they run. */
export const whyNoStockImage = (): string | null =>
  existsSync(IMAGE) || process.env['CI'] === 'true' ? null : 'needs the npm package avrgirl-arduino: npm ci';

/**
 * A stock board: the image as it is published, on an ATmega328P with avr8js's own timers, serial port and converter.
 * Ours (src/emulator) has what our firmware uses, and neither timer 0 nor a converter.
 */
export class StockImageBoard {
  readonly #send: (bytes: Uint8Array) => void;
  /** What is at A0 to A5, volts of 5. */
  readonly volts: (number | null)[] = [null, null, null, null, null, null];
  #chip: { cpu: CPU; usart: AVRUSART; adc: AVRADC };
  #toBoard: number[] = [];
  #sent: number[] = [];
  #ms = 0;

  constructor(send: (bytes: Uint8Array) => void) {
    this.#send = send;
    this.#chip = this.#build();
  }

  /** The reset line is pulled, as by an opening of its port. */
  reset(): void {
    const { cycles } = this.#chip.cpu;
    this.#toBoard = [];
    this.#chip = this.#build();
    this.#chip.cpu.cycles = cycles;
  }

  receive(bytes: Uint8Array): void {
    this.#toBoard.push(...bytes);
    this.#next();
  }

  /** Runs for so long and hands on what it has sent meanwhile. */
  run(ms: number): void {
    this.#ms += ms;
    const { cpu, adc } = this.#chip;
    // An open input is at no voltage of its own; the image must not be asked for it.
    this.volts.forEach((value, channel) => {
      adc.channelValues[channel] = value ?? 0;
    });
    const end = (this.#ms * HZ) / 1000;
    while (cpu.cycles < end) {
      avrInstruction(cpu);
      cpu.tick();
    }
    if (this.#sent.length > 0) this.#send(Uint8Array.from(this.#sent));
    this.#sent = [];
  }

  #next(): void {
    const { usart } = this.#chip;
    if (this.#toBoard.length > 0 && !usart.rxBusy && usart.rxEnable) usart.writeByte(this.#toBoard.shift()!);
  }

  #build() {
    const cpu = new CPU(loadImage(readFileSync(IMAGE, 'latin1')), SRAM_BYTES);
    for (const timer of [timer0Config, timer1Config, timer2Config]) new AVRTimer(cpu, timer);
    for (const port of [portBConfig, portCConfig, portDConfig]) new AVRIOPort(cpu, port);
    const usart = new AVRUSART(cpu, usart0Config, HZ);
    usart.onByteTransmit = (byte) => this.#sent.push(byte);
    usart.onRxComplete = () => this.#next();
    const adc = new AVRADC(cpu, adcConfig);
    return { cpu, usart, adc };
  }
}
