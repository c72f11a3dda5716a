import type { I2cChip } from './i2cBus.js';

export const CLOCK_ADDRESS = 0x68;

const REGISTERS = 0x13;
const TIME_REGISTERS = 7;
const CONTROL = 0x0e;
const STATUS = 0x0f;
const EOSC = 0x80;
const OSF = 0x80;
const EN32KHZ = 0x08;

export interface ClockChipOptions {
  /** UTC in Unix seconds at simulated time 0. */
  readonly utcSeconds: number;
  /** True when its cell was empty: it counts from 2000-01-01 and says that its oscillator had stopped. */
  readonly hadStopped?: boolean;
  /** How much it runs fast, parts per million. */
  readonly ppm?: number;
}

const bcd = (value: number) => (Math.floor(value / 10) << 4) | (value % 10);
const fromBcd = (value: number) => (value >> 4) * 10 + (value & 0x0f);

/** A DS3231's timekeeping registers (datasheet 19-5170, table "Timekeeping registers"), in 24-hour mode, on its cell. */
export class ClockChip implements I2cChip {
  readonly address = CLOCK_ADDRESS;
  readonly #registers = new Uint8Array(REGISTERS);
  readonly #rate: number;
  /** Seconds since 1970 at `#sinceUs`. */
  #utc: number;
  #sinceUs = 0;
  #pointer = 0;
  #isPointerNext = false;
  #timeWasWritten = false;

  constructor(options: ClockChipOptions) {
    this.#rate = 1 + (options.ppm ?? 0) / 1_000_000;
    this.#utc = options.hadStopped ? 946_684_800 : options.utcSeconds;
    this.#registers[CONTROL] = 0x1c;
    this.#registers[STATUS] = EN32KHZ | (options.hadStopped ? OSF : 0);
  }

  /** What it would show, Unix seconds with fraction. */
  utcAt(us: number): number {
    return this.#utc + ((us - this.#sinceUs) / 1_000_000) * this.#rate;
  }

  /** Its oscillator stops and starts again, as when the cell fails for a moment. */
  stopOscillator(): void {
    this.#registers[STATUS] = (this.#registers[STATUS] ?? 0) | OSF;
  }

  select(isRead: boolean, us: number): boolean {
    if (!isRead) this.#isPointerNext = true;
    this.#latch(us);
    return true;
  }

  write(byte: number): boolean {
    if (this.#isPointerNext) {
      this.#pointer = byte % REGISTERS;
      this.#isPointerNext = false;
      return true;
    }
    const old = this.#registers[this.#pointer] ?? 0;
    this.#registers[this.#pointer] = this.#pointer === STATUS ? (byte & 0x7f) | (old & byte & OSF) : byte;
    if (this.#pointer < TIME_REGISTERS) this.#timeWasWritten = true;
    this.#pointer = (this.#pointer + 1) % REGISTERS;
    return true;
  }

  read(): number {
    const byte = this.#registers[this.#pointer] ?? 0;
    this.#pointer = (this.#pointer + 1) % REGISTERS;
    return byte;
  }

  stop(us: number): void {
    if (!this.#timeWasWritten) return;
    this.#timeWasWritten = false;
    const [second = 0, minute = 0, hour = 0, , day = 0, month = 0, year = 0] = [...this.#registers].map(
      fromBcd,
    );
    this.#utc = Date.UTC(2000 + year, (month & 0x1f) - 1, day, hour, minute, second) / 1000;
    this.#sinceUs = us;
  }

  /** On its cell it goes on, if the oscillator may run there. */
  cutPower(): void {
    if ((this.#registers[CONTROL] ?? 0) & EOSC) this.stopOscillator();
  }

  /** The time registers are a copy made at each START. */
  #latch(us: number): void {
    if (this.#timeWasWritten) return;
    const now = new Date(Math.floor(this.utcAt(us)) * 1000);
    const time = [
      now.getUTCSeconds(),
      now.getUTCMinutes(),
      now.getUTCHours(),
      now.getUTCDay() + 1,
      now.getUTCDate(),
      now.getUTCMonth() + 1,
      now.getUTCFullYear() % 100,
    ];
    this.#registers.set(time.map(bcd));
  }
}
