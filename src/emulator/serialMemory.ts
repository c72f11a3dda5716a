import { seededChance } from '../units/clock.js';
import type { I2cChip } from './i2cBus.js';

export const MEMORY_ADDRESS = 0x50;
export const MEMORY_BYTES = 65_536;
const PAGE_BYTES = 128;

export interface SerialMemoryOptions {
  /** 65536 bytes, changed in place. Erased (FFh) when left out. */
  readonly bytes?: Uint8Array;
  /** How long a write takes; 24-series EEPROM: at most 5. FRAM: 0. */
  readonly writeMs?: number;
  /** Chance for what a power cut leaves of a write. */
  readonly seed?: number;
}

/** A 64 KiB serial memory of the 24-series: two address bytes, page writes that wrap within 128 bytes. */
export class SerialMemory implements I2cChip {
  readonly address = MEMORY_ADDRESS;
  readonly bytes: Uint8Array;
  /** Page writes begun, and of these cut by the power. */
  writes = 0;
  cutWrites = 0;
  readonly #writeUs: number;
  readonly #chance: { uniform(): number };
  #pointer = 0;
  #addressBytes = 0;
  /** The page buffer: what is to be written, by place. */
  readonly #buffer = new Map<number, number>();
  #busyUntilUs = Number.NEGATIVE_INFINITY;
  /** What the bytes of the write under way held before. */
  #before = new Map<number, number>();

  constructor(options: SerialMemoryOptions = {}) {
    this.bytes = options.bytes ?? new Uint8Array(MEMORY_BYTES).fill(0xff);
    this.#writeUs = (options.writeMs ?? 5) * 1000;
    this.#chance = seededChance(options.seed ?? 1);
  }

  select(isRead: boolean, us: number): boolean {
    if (us < this.#busyUntilUs) return false;
    if (!isRead) this.#addressBytes = 0;
    this.#buffer.clear();
    return true;
  }

  write(byte: number): boolean {
    if (this.#addressBytes < 2) {
      this.#pointer = ((this.#pointer << 8) | byte) & 0xffff;
      this.#addressBytes += 1;
    } else {
      this.#buffer.set(this.#pointer, byte);
      const page = this.#pointer - (this.#pointer % PAGE_BYTES);
      this.#pointer = page + ((this.#pointer + 1) % PAGE_BYTES);
    }
    return true;
  }

  read(): number {
    const byte = this.bytes[this.#pointer] ?? 0xff;
    this.#pointer = (this.#pointer + 1) % MEMORY_BYTES;
    return byte;
  }

  /** A STOP after data starts the write; a repeated START abandons it. */
  stop(us: number, isRepeatedStart: boolean): void {
    if (!isRepeatedStart && this.#buffer.size > 0) {
      this.#before = new Map([...this.#buffer.keys()].map((place) => [place, this.bytes[place] ?? 0xff]));
      for (const [place, byte] of this.#buffer) this.bytes[place] = byte;
      this.#busyUntilUs = us + this.#writeUs;
      this.writes += 1;
    }
    this.#buffer.clear();
  }

  /** A write under way leaves each of its bytes old, new, erased or anything. */
  cutPower(us: number): void {
    if (us < this.#busyUntilUs) {
      this.cutWrites += 1;
      for (const [place, old] of this.#before) {
        const written = this.bytes[place] ?? 0xff;
        const anything = Math.floor(this.#chance.uniform() * 256);
        this.bytes[place] = [old, written, 0xff, anything][Math.floor(this.#chance.uniform() * 4)] ?? 0xff;
      }
    }
    this.#busyUntilUs = Number.NEGATIVE_INFINITY;
    this.#buffer.clear();
  }
}
