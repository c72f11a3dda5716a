import { describe, expect, test } from 'vitest';
import { ClockChip } from '../../src/emulator/clockChip.js';
import { I2cBus, type I2cFault } from '../../src/emulator/i2cBus.js';
import { SerialMemory } from '../../src/emulator/serialMemory.js';

/** A master made of arithmetic alone: 5 us a half bit. */
class I2cMaster {
  us = 1000;
  readonly #bus: I2cBus;
  constructor(bus: I2cBus) {
    this.#bus = bus;
  }
  #scl(isLow: boolean) {
    this.us += 2.5;
    this.#bus.driveScl(isLow, this.us);
    this.us += 2.5;
  }
  #bit(one: boolean): boolean {
    this.#bus.driveSda(!one, this.us);
    this.#scl(false);
    const level = this.#bus.sdaIsHigh(this.us);
    this.#scl(true);
    return level;
  }
  start(address: number): boolean {
    this.#bus.driveSda(false, this.us);
    this.#scl(false);
    this.us += 2;
    this.#bus.driveSda(true, this.us);
    this.#scl(true);
    return this.write(address);
  }
  write(byte: number): boolean {
    for (let mask = 0x80; mask > 0; mask >>= 1) this.#bit((byte & mask) !== 0);
    return !this.#bit(true);
  }
  read(isLast: boolean): number {
    let byte = 0;
    for (let bit = 0; bit < 8; bit += 1) byte = (byte << 1) | (this.#bit(true) ? 1 : 0);
    this.#bit(isLast);
    return byte;
  }
  stop() {
    this.#bus.driveSda(true, this.us);
    this.#scl(false);
    this.us += 2;
    this.#bus.driveSda(false, this.us);
    this.us += 5;
  }
}

function desk(faults: readonly I2cFault[] = [], hadStopped = false) {
  const memory = new SerialMemory();
  const clock = new ClockChip({ utcSeconds: 1_709_251_199, hadStopped }); // 2024-02-29 23:59:59
  const bus = new I2cBus({ chips: [memory, clock], faults });
  return { memory, clock, bus, master: new I2cMaster(bus) };
}
function writeAt(master: I2cMaster, address: number, ...bytes: number[]): boolean {
  const isHeard = master.start(0xa0);
  for (const byte of [address >> 8, address & 0xff, ...bytes]) master.write(byte);
  master.stop();
  return isHeard;
}
function readAt(master: I2cMaster, address: number, count: number): number[] {
  master.start(0xa0);
  master.write(address >> 8);
  master.write(address & 0xff);
  master.start(0xa1);
  const bytes = Array.from({ length: count }, (_, index) => master.read(index === count - 1));
  master.stop();
  return bytes;
}

describe('the serial memory', () => {
  test('keeps what is written and reads it on across a page', () => {
    const { master } = desk();
    writeAt(master, 0x12fe, 1, 2);
    master.us += 6000;
    writeAt(master, 0x1300, 3);
    master.us += 6000;
    expect(readAt(master, 0x12fe, 4)).toEqual([1, 2, 3, 0xff]);
  });

  test('wraps a write within its page of 128 bytes', () => {
    const { memory, master } = desk();
    writeAt(master, 0x017f, 1, 2);
    expect([memory.bytes[0x017f], memory.bytes[0x0100], memory.bytes[0x0180]]).toEqual([1, 2, 0xff]);
  });

  test('does not answer for 5 ms while it writes', () => {
    const { master } = desk();
    writeAt(master, 0, 1);
    expect(master.start(0xa0)).toBe(false);
    master.stop();
    master.us += 5000;
    expect(master.start(0xa0)).toBe(true);
  });

  test('loses a write under way to a power cut, and that page only', () => {
    const { memory, master, bus } = desk();
    writeAt(master, 0, ...new Array(128).fill(0x11));
    master.us += 6000;
    writeAt(master, 128, ...new Array(128).fill(0x22));
    bus.cutPower(master.us + 2000);
    expect(memory.cutWrites).toBe(1);
    expect([...memory.bytes.subarray(0, 128)]).toEqual(new Array(128).fill(0x11));
    expect([...memory.bytes.subarray(128, 256)]).not.toEqual(new Array(128).fill(0x22));
  });

  test('does not answer while it is absent', () => {
    const { master } = desk([{ kind: 'absent', address: 0x50, fromMs: 0, toMs: 100 }]);
    expect(writeAt(master, 0, 1)).toBe(false);
    master.us += 100_000;
    expect(writeAt(master, 0, 1)).toBe(true);
  });
});

describe('the clock chip', () => {
  const time = (master: I2cMaster) => {
    master.start(0xd0);
    master.write(0);
    master.start(0xd1);
    const bytes = Array.from({ length: 16 }, (_, index) => master.read(index === 15));
    master.stop();
    return bytes;
  };

  test('counts over the end of a leap February in BCD', () => {
    const { master } = desk();
    expect(time(master).slice(0, 7)).toEqual([0x59, 0x59, 0x23, 5, 0x29, 0x02, 0x24]);
    master.us += 1_000_000;
    expect(time(master).slice(0, 7)).toEqual([0x00, 0x00, 0x00, 6, 0x01, 0x03, 0x24]);
  });

  test('says that its oscillator had stopped until that is cleared', () => {
    const { master } = desk([], true);
    expect((time(master)[15] ?? 0) & 0x80).toBe(0x80);
    master.start(0xd0);
    master.write(0x0f);
    master.write(0);
    master.stop();
    expect((time(master)[15] ?? 0) & 0x80).toBe(0);
  });
});

test('`violations` counts clocks that are too quick (negative control)', () => {
  const { bus, master } = desk();
  writeAt(master, 0, 1);
  expect(bus.violations).toBe(0);
  bus.driveScl(true, master.us);
  bus.driveScl(false, master.us + 0.5);
  expect(bus.violations).toBeGreaterThan(0);
});
