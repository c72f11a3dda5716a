import type { OneWireBus } from '../../src/emulator/oneWireBus.js';

/** The times of a master, microseconds; a test spoils one of them. */
export const GOOD = {
  resetLow: 490,
  presenceSample: 66,
  resetHigh: 490,
  write1Low: 6,
  write0Low: 63,
  readLow: 3,
  readSample: 12,
  slot: 70,
};

/** A master on the bus that is made of arithmetic alone. */
export class Master {
  readonly #bus: OneWireBus;
  readonly times: typeof GOOD;
  us: number;

  constructor(bus: OneWireBus, times: Partial<typeof GOOD> = {}, us = 1000) {
    this.#bus = bus;
    this.times = { ...GOOD, ...times };
    this.us = us;
  }

  reset(): boolean {
    const { resetLow, presenceSample, resetHigh } = this.times;
    this.#bus.pull(this.us);
    this.#bus.release(this.us + resetLow);
    const isPresent = !this.#bus.isHigh(this.us + resetLow + presenceSample);
    this.us += resetLow + resetHigh;
    return isPresent;
  }

  writeBit(bit: number): void {
    const { write1Low, write0Low, slot } = this.times;
    this.#bus.pull(this.us);
    this.#bus.release(this.us + (bit ? write1Low : write0Low));
    this.us += slot;
  }

  readBit(): number {
    const { readLow, readSample, slot } = this.times;
    this.#bus.pull(this.us);
    this.#bus.release(this.us + readLow);
    const bit = this.#bus.isHigh(this.us + readSample) ? 1 : 0;
    this.us += slot;
    return bit;
  }

  write(...bytes: number[]): this {
    for (const byte of bytes) for (let bit = 0; bit < 8; bit += 1) this.writeBit((byte >> bit) & 1);
    return this;
  }

  read(count: number): number[] {
    return Array.from({ length: count }, () => {
      let byte = 0;
      for (let bit = 0; bit < 8; bit += 1) byte |= this.readBit() << bit;
      return byte;
    });
  }

  wait(ms: number): this {
    this.us += ms * 1000;
    return this;
  }
}

export const SKIP_ROM = 0xcc;
export const MATCH_ROM = 0x55;
export const READ_ROM = 0x33;
export const SEARCH_ROM = 0xf0;
export const CONVERT_T = 0x44;
export const READ_SCRATCHPAD = 0xbe;
export const WRITE_SCRATCHPAD = 0x4e;
export const COPY_SCRATCHPAD = 0x48;
export const RECALL = 0xb8;
