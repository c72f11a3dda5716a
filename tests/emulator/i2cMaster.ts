import { ClockChip, type ClockChipOptions } from '../../src/emulator/clockChip.js';
import { I2cBus, type I2cFault } from '../../src/emulator/i2cBus.js';
import { SerialMemory } from '../../src/emulator/serialMemory.js';

/** Address bytes, the direction in the last bit. */
export const MEMORY_WRITE = 0xa0;
export const MEMORY_READ = 0xa1;
export const CLOCK_WRITE = 0xd0;
export const CLOCK_READ = 0xd1;

/** A master on the I2C bus that is made of arithmetic alone: 5 us a half bit. */
export class I2cMaster {
  us = 1000;
  readonly #bus: I2cBus;
  constructor(bus: I2cBus) {
    this.#bus = bus;
  }

  #scl(isLow: boolean): void {
    this.us += 2.5;
    this.#bus.driveScl(isLow, this.us);
    this.us += 2.5;
  }

  /** One clock with the data line released (1) or pulled (0); the level seen while the clock is high. */
  bit(one: boolean): boolean {
    this.#bus.driveSda(!one, this.us);
    this.#scl(false);
    const level = this.#bus.sdaIsHigh(this.us);
    this.#scl(true);
    return level;
  }

  /** START and the address byte; true when a chip acknowledged. */
  start(address: number): boolean {
    this.#bus.driveSda(false, this.us);
    this.#scl(false);
    this.us += 2;
    this.#bus.driveSda(true, this.us);
    this.#scl(true);
    return this.write(address);
  }

  /** True when the byte was acknowledged. */
  write(byte: number): boolean {
    for (let mask = 0x80; mask > 0; mask >>= 1) this.bit((byte & mask) !== 0);
    return !this.bit(true);
  }

  read(isLast: boolean): number {
    let byte = 0;
    for (let bit = 0; bit < 8; bit += 1) byte = (byte << 1) | (this.bit(true) ? 1 : 0);
    this.bit(isLast);
    return byte;
  }

  stop(): void {
    this.#bus.driveSda(true, this.us);
    this.#scl(false);
    this.us += 2;
    this.#bus.driveSda(false, this.us);
    this.us += 5;
  }

  /** Reads from a register or place on whose address `pointer` spells. */
  readFrom(writeAddress: number, pointer: readonly number[], count: number): number[] {
    this.start(writeAddress);
    for (const byte of pointer) this.write(byte);
    this.start(writeAddress | 1);
    const bytes = Array.from({ length: count }, (_, index) => this.read(index === count - 1));
    this.stop();
    return bytes;
  }

  /** Writes to the memory's place `address` on; true when the memory acknowledged its address. */
  writeMemory(address: number, ...bytes: number[]): boolean {
    const isHeard = this.start(MEMORY_WRITE);
    for (const byte of [address >> 8, address & 0xff, ...bytes]) this.write(byte);
    this.stop();
    return isHeard;
  }

  readMemory(address: number, count: number): number[] {
    return this.readFrom(MEMORY_WRITE, [address >> 8, address & 0xff], count);
  }
}

/** A bus with memory and clock chip, and a master on it. */
export function i2cDesk(faults: readonly I2cFault[] = [], clockOptions: Partial<ClockChipOptions> = {}) {
  const memory = new SerialMemory();
  const clock = new ClockChip({ utcSeconds: 1_709_251_199, ...clockOptions }); // 2024-02-29 23:59:59
  const bus = new I2cBus({ chips: [memory, clock], faults });
  return { memory, clock, bus, master: new I2cMaster(bus) };
}
