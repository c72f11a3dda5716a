import { describe, expect, test } from 'vitest';
import { CLOCK_WRITE, i2cDesk, MEMORY_READ, MEMORY_WRITE } from './i2cMaster.js';

describe('the bus of memory and clock', () => {
  test('acknowledges the addresses of its chips and no other', () => {
    const { master } = i2cDesk();
    const heard = [MEMORY_WRITE, CLOCK_WRITE, 0xa2].map((address) => {
      const isHeard = master.start(address);
      master.stop();
      return isHeard;
    });
    expect(heard).toEqual([true, true, false]);
  });

  test('lets nobody hear a chip while it is absent, and the other all the same', () => {
    const { master } = i2cDesk([{ kind: 'absent', address: 0x50, fromMs: 0, toMs: 100 }]);
    expect(master.writeMemory(0, 1)).toBe(false);
    expect(master.start(CLOCK_WRITE)).toBe(true);
    master.stop();
    master.us += 100_000;
    expect(master.writeMemory(0, 1)).toBe(true);
  });

  test('`sdaIsHigh()` and `sclIsHigh()` are low while a line is held', () => {
    const { bus } = i2cDesk([
      { kind: 'sda-low', fromMs: 10, toMs: 20 },
      { kind: 'scl-low', fromMs: 30, toMs: 40 },
    ]);
    const levels = [5, 10, 19, 20, 30, 39, 40].map((ms) => [
      bus.sdaIsHigh(ms * 1000),
      bus.sclIsHigh(ms * 1000),
    ]);
    expect(levels).toEqual([
      [true, true],
      [false, true],
      [false, true],
      [true, true],
      [true, false],
      [true, false],
      [true, true],
    ]);
  });

  test('stays held by a chip whose byte was broken off, until nine clocks have freed it', () => {
    const { memory, master, bus } = i2cDesk();
    memory.bytes[0] = 0;
    master.start(MEMORY_WRITE);
    master.write(0);
    master.write(0);
    master.start(MEMORY_READ);
    master.bit(true);
    expect(bus.sdaIsHigh(master.us)).toBe(false);
    let clocks = 0;
    while (!bus.sdaIsHigh(master.us) && clocks < 20) {
      master.bit(true);
      clocks += 1;
    }
    expect(clocks).toBeLessThanOrEqual(9);
    master.stop();
    expect(master.readMemory(0, 1)).toEqual([0]);
  });
});

test('`violations` counts clocks that are too quick (negative control)', () => {
  const { bus, master } = i2cDesk();
  master.writeMemory(0, 1);
  expect(bus.violations).toBe(0);
  bus.driveScl(true, master.us);
  bus.driveScl(false, master.us + 0.5);
  expect(bus.violations).toBeGreaterThan(0);
});
