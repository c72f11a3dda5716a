import { describe, expect, test } from 'vitest';
import { i2cDesk, MEMORY_WRITE } from './i2cMaster.js';

describe('the serial memory', () => {
  test('keeps what is written and reads it on across a page', () => {
    const { master } = i2cDesk();
    master.writeMemory(0x12fe, 1, 2);
    master.us += 6000;
    master.writeMemory(0x1300, 3);
    master.us += 6000;
    expect(master.readMemory(0x12fe, 4)).toEqual([1, 2, 3, 0xff]);
  });

  test('wraps a write within its page of 128 bytes', () => {
    const { memory, master } = i2cDesk();
    master.writeMemory(0x017f, 1, 2);
    expect([memory.bytes[0x017f], memory.bytes[0x0100], memory.bytes[0x0180]]).toEqual([1, 2, 0xff]);
  });

  test('does not answer for 5 ms while it writes', () => {
    const { master } = i2cDesk();
    master.writeMemory(0, 1);
    expect(master.start(MEMORY_WRITE)).toBe(false);
    master.stop();
    master.us += 5000;
    expect(master.start(MEMORY_WRITE)).toBe(true);
  });

  test('loses a write under way to a power cut, and that page only', () => {
    const { memory, master, bus } = i2cDesk();
    master.writeMemory(0, ...new Array(128).fill(0x11));
    master.us += 6000;
    master.writeMemory(128, ...new Array(128).fill(0x22));
    bus.cutPower(master.us + 2000);
    expect(memory.cutWrites).toBe(1);
    expect([...memory.bytes.subarray(0, 128)]).toEqual(new Array(128).fill(0x11));
    expect([...memory.bytes.subarray(128, 256)]).not.toEqual(new Array(128).fill(0x22));
  });

  test('keeps a finished write over a power cut (negative control)', () => {
    const { memory, master, bus } = i2cDesk();
    master.writeMemory(128, ...new Array(128).fill(0x22));
    bus.cutPower(master.us + 5001);
    expect(memory.cutWrites).toBe(0);
    expect([...memory.bytes.subarray(128, 256)]).toEqual(new Array(128).fill(0x22));
  });
});
