/** A chip on the bus, byte by byte. Times are microseconds of simulated time. */
export interface I2cChip {
  /** Seven bits. */
  readonly address: number;
  /** Addressed after a START. False: it does not acknowledge. */
  select(isRead: boolean, us: number): boolean;
  /** False: it does not acknowledge. */
  write(byte: number, us: number): boolean;
  read(us: number): number;
  /** STOP, or a START for another transfer. */
  stop(us: number, isRepeatedStart: boolean): void;
  /** Its supply goes away and comes back at once. */
  cutPower(us: number): void;
}

export type I2cFaultKind = 'sda-low' | 'scl-low' | 'absent';

/** A fault from `fromMs` (inclusive) to `toMs` (exclusive); `address` is that of the chip that is absent. */
export interface I2cFault {
  readonly kind: I2cFaultKind;
  readonly address?: number;
  readonly fromMs: number;
  readonly toMs: number;
}

/** Fast mode (400 kHz), common to 24-series memories at 5 V and the DS3231: datasheet tables "AC characteristics". */
const LOW_MIN_US = 1.3;
const HIGH_MIN_US = 0.6;
const RISE_US = 0.3;

type Phase = 'idle' | 'address' | 'write' | 'read';

/**
 * The two lines with their pull-ups and chips, worked out at the master's edges. Chips never hold the clock.
 * What the master does quicker than fast mode allows is counted in `violations`.
 */
export class I2cBus {
  violations = 0;
  readonly #chips: readonly I2cChip[];
  readonly #faults: readonly I2cFault[];
  #sclIsPulled = false;
  #sdaIsPulled = false;
  /** The addressed chip pulls the data line. */
  #chipPulls = false;
  #sclReleasedUs = Number.NEGATIVE_INFINITY;
  #sdaReleasedUs = Number.NEGATIVE_INFINITY;
  #sclEdgeUs = Number.NEGATIVE_INFINITY;
  /** The levels that the chips have seen. */
  #scl = true;
  #sda = true;

  #phase: Phase = 'idle';
  #selected: I2cChip | null = null;
  /** Rising edges of the clock within the byte. */
  #clocks = 0;
  #shift = 0;
  #isAcknowledged = false;

  constructor(options: { readonly chips: readonly I2cChip[]; readonly faults?: readonly I2cFault[] }) {
    this.#chips = options.chips;
    this.#faults = options.faults ?? [];
  }

  /** The board's supply, which is the chips' too, goes away and comes back. */
  cutPower(us: number): void {
    for (const chip of this.#chips) chip.cutPower(us);
    this.#phase = 'idle';
    this.#selected = null;
    this.#chipPulls = false;
  }

  driveScl(isLow: boolean, us: number): void {
    this.#sclIsPulled = isLow;
    if (!isLow) this.#sclReleasedUs = us;
    this.#settle(us);
  }

  driveSda(isLow: boolean, us: number): void {
    this.#sdaIsPulled = isLow;
    if (!isLow) this.#sdaReleasedUs = us;
    this.#settle(us);
  }

  sclIsHigh(us: number): boolean {
    this.#settle(us);
    return this.#scl && us >= this.#sclReleasedUs + RISE_US;
  }

  sdaIsHigh(us: number): boolean {
    this.#settle(us);
    return this.#sda && us >= this.#sdaReleasedUs + RISE_US;
  }

  #has(kind: I2cFaultKind, us: number, address?: number): boolean {
    return this.#faults.some(
      (fault) =>
        fault.kind === kind &&
        (kind !== 'absent' || fault.address === address) &&
        us >= fault.fromMs * 1000 &&
        us < fault.toMs * 1000,
    );
  }

  /** Brings the lines to the present and lets the chips see what changed. */
  #settle(us: number): void {
    const hasFaults = this.#faults.length > 0;
    if (hasFaults && this.#selected !== null && this.#has('absent', us, this.#selected.address)) this.#drop();
    const scl = !this.#sclIsPulled && !(hasFaults && this.#has('scl-low', us));
    const held = hasFaults && this.#has('sda-low', us);
    if (scl !== this.#scl) {
      this.#checkClock(scl, us);
      this.#scl = scl;
      if (scl) this.#clockRose(!this.#sdaIsPulled && !this.#chipPulls && !held);
      else this.#clockFell(us);
    }
    const sda = !this.#sdaIsPulled && !this.#chipPulls && !held;
    if (sda === this.#sda) return;
    this.#sda = sda;
    if (!this.#scl) return;
    if (sda) this.#stop(us);
    else this.#start(us);
  }

  #checkClock(rises: boolean, us: number): void {
    const lasted = us - this.#sclEdgeUs;
    if (lasted < (rises ? LOW_MIN_US : HIGH_MIN_US)) this.violations += 1;
    this.#sclEdgeUs = us;
  }

  #drop(): void {
    this.#phase = 'idle';
    this.#selected = null;
    this.#chipPulls = false;
  }

  #start(us: number): void {
    this.#selected?.stop(us, true);
    this.#drop();
    this.#phase = 'address';
    this.#clocks = 0;
    this.#shift = 0;
  }

  #stop(us: number): void {
    this.#selected?.stop(us, false);
    this.#drop();
  }

  #clockRose(level: boolean): void {
    if (this.#phase === 'idle') return;
    this.#clocks += 1;
    if (this.#phase === 'read') {
      if (this.#clocks === 9) this.#isAcknowledged = !level;
    } else if (this.#clocks <= 8) this.#shift = (this.#shift << 1) | (level ? 1 : 0);
  }

  #clockFell(us: number): void {
    if (this.#phase === 'idle') return;
    if (this.#phase === 'read') this.#sendBit(us);
    else if (this.#clocks === 8) this.#takeByte(us);
    else if (this.#clocks === 9) this.#nextByte(us);
  }

  /** Eight bits are in: whoever is meant acknowledges. */
  #takeByte(us: number): void {
    const byte = this.#shift;
    if (this.#phase === 'address') {
      const chip = this.#chips.find((each) => each.address === byte >> 1);
      const isPresent = chip !== undefined && !this.#has('absent', us, chip.address);
      this.#selected = isPresent && chip.select((byte & 1) === 1, us) ? chip : null;
      this.#isAcknowledged = this.#selected !== null;
    } else this.#isAcknowledged = this.#selected?.write(byte, us) ?? false;
    this.#chipPulls = this.#isAcknowledged;
  }

  #nextByte(us: number): void {
    this.#chipPulls = false;
    if (!this.#isAcknowledged) {
      this.#phase = 'idle';
      return;
    }
    const isRead = this.#phase === 'address' && (this.#shift & 1) === 1;
    this.#phase = isRead ? 'read' : 'write';
    this.#clocks = 0;
    this.#shift = 0;
    if (isRead) this.#loadByte(us);
  }

  #loadByte(us: number): void {
    this.#clocks = 0;
    this.#shift = this.#selected?.read(us) ?? 0xff;
    this.#chipPulls = (this.#shift & 0x80) === 0;
  }

  #sendBit(us: number): void {
    if (this.#clocks < 8) this.#chipPulls = ((this.#shift >> (7 - this.#clocks)) & 1) === 0;
    else if (this.#clocks === 8) this.#chipPulls = false;
    else if (this.#isAcknowledged) this.#loadByte(us);
    else this.#phase = 'idle';
  }
}
