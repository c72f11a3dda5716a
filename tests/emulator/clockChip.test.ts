import { describe, expect, test } from 'vitest';
import { CLOCK_WRITE, i2cDesk } from './i2cMaster.js';

/** Registers 00h to 0Fh, as the DS3231's datasheet 19-5170 numbers them. */
const registers = (master: ReturnType<typeof i2cDesk>['master']) => master.readFrom(CLOCK_WRITE, [0], 16);
const STATUS = 0x0f;
const OSCILLATOR_STOPPED = 0x80;

describe('the clock chip', () => {
  test('counts over the end of a leap February in BCD', () => {
    const { master } = i2cDesk();
    expect(registers(master).slice(0, 7)).toEqual([0x59, 0x59, 0x23, 5, 0x29, 0x02, 0x24]);
    master.us += 1_000_000;
    expect(registers(master).slice(0, 7)).toEqual([0x00, 0x00, 0x00, 6, 0x01, 0x03, 0x24]);
  });

  test('says that its oscillator had stopped until that is cleared', () => {
    const { master } = i2cDesk([], { hadStopped: true });
    expect((registers(master)[STATUS] ?? 0) & OSCILLATOR_STOPPED).toBe(OSCILLATOR_STOPPED);
    master.start(CLOCK_WRITE);
    master.write(STATUS);
    master.write(0);
    master.stop();
    expect((registers(master)[STATUS] ?? 0) & OSCILLATOR_STOPPED).toBe(0);
  });

  test('begins a second when it is set, and goes on over a power cut', () => {
    const { master, clock, bus } = i2cDesk();
    master.us += 700_000;
    master.start(CLOCK_WRITE);
    for (const byte of [0, 0x30, 0x15, 0x07, 2, 0x12, 0x05, 0x26]) master.write(byte);
    master.stop();
    const SET = Date.UTC(2026, 4, 12, 7, 15, 30) / 1000;
    expect(clock.utcAt(master.us) - SET).toBeGreaterThanOrEqual(0);
    expect(clock.utcAt(master.us) - SET).toBeLessThan(0.001);
    bus.cutPower(master.us);
    master.us += 60_000_000;
    expect(registers(master).slice(0, 3)).toEqual([0x30, 0x16, 0x07]);
  });

  test('shows how far it runs fast', () => {
    const { clock } = i2cDesk([], { ppm: 20 });
    expect(clock.utcAt(1_000_000_000_000) - clock.utcAt(0)).toBeCloseTo(1_000_020, 6);
  });
});
