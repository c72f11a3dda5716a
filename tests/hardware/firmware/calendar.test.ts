import { describe, expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { Bench, hex } from '../../emulator/bench.js';
import { CLOCK_WRITE, I2cMaster } from '../../emulator/i2cMaster.js';

const UTC = 1_790_000_000;
const MINUTE_MS = 60_000;

function board(utcSeconds = UTC) {
  const clock = new ClockChip({ utcSeconds });
  return { clock, bench: new Bench({ probes: [], clock, hostListens: false }).run(30_000) };
}

/** Somebody else writes a register of the chip, as clock pulses on a line that is held do. */
function disturb(bench: Bench, register: number, ...bytes: number[]): void {
  const stranger = new I2cMaster(bench.i2c);
  stranger.us = bench.board.ms * 1000 + 50;
  expect(stranger.start(CLOCK_WRITE)).toBe(true);
  for (const byte of [register, ...bytes]) stranger.write(byte);
  stranger.stop();
  bench.run(stranger.us / 1000 + 1);
}

/** How far the board's last word about the time is from the truth, seconds. */
const boardIsOff = (bench: Bench, utc = UTC) => {
  const { fields, atMs } = bench.of('C').at(-1) ?? { fields: [], atMs: 0 };
  return Math.abs(Number.parseInt(fields[1] ?? '', 16) - (utc + atMs / 1000));
};
const chipIsOff = (bench: Bench, clock: ClockChip, utc = UTC) =>
  Math.abs(clock.utcAt(bench.board.ms * 1000) - (utc + bench.board.ms / 1000));

describe('a chip whose time was disturbed', () => {
  // Registers of the DS3231: 0 seconds, 1 minutes, 2 hours, 4 day, 6 year; BCD.
  test.each([
    ['seconds', 0, 0x55],
    ['minutes', 1, 0x00],
    ['hours', 2, 0x23],
    ['day of the month', 4, 0x01],
    ['year', 6, 0x40],
  ])(
    'in its %s is set right by the crystal, and the board tells the right time throughout',
    (_name, register, byte) => {
      const { bench, clock } = board();
      bench.run(7 * MINUTE_MS);
      disturb(bench, register, byte);
      expect(chipIsOff(bench, clock)).toBeGreaterThan(2);
      const from = bench.of('C').length;
      bench.run(bench.board.ms + 3 * MINUTE_MS);
      expect(chipIsOff(bench, clock)).toBeLessThan(0.7);
      for (const { fields, atMs } of bench.of('C').slice(from))
        expect(Math.abs(Number.parseInt(fields[1] ?? '', 16) - (UTC + atMs / 1000))).toBeLessThan(1.5);
    },
  );

  test('is not believed at a boot when its year is before any board was made', () => {
    const { bench } = board(Date.UTC(2000, 0, 1) / 1000 + 86_400);
    expect(bench.of('C')[0]?.fields).toEqual(['S', '00000000', '00']);
  });
});

describe('a chip that is right is left as it is', () => {
  test('when a host sets it to another time', () => {
    const { bench, clock } = board();
    bench.run(5 * MINUTE_MS);
    const later = UTC + 5000;
    const seconds = Math.floor(later + bench.board.ms / 1000);
    expect(bench.ask('C', hex(seconds, 8))).toEqual(['K', 'R']);
    bench.run(bench.board.ms + 10 * MINUTE_MS);
    expect(chipIsOff(bench, clock, later)).toBeLessThan(1.2);
    expect(boardIsOff(bench, later)).toBeLessThan(1.5);
  });

  test('when the crystal is off by half a percent and the chip was away for an hour', () => {
    const clock = new ClockChip({ utcSeconds: UTC });
    const i2cFaults = [
      { kind: 'absent', address: clock.address, fromMs: 5 * MINUTE_MS, toMs: 65 * MINUTE_MS } as const,
    ];
    const bench = new Bench({ probes: [], clock, i2cFaults, crystalPpm: 5000, hostListens: false });
    bench.run(60 * MINUTE_MS);
    expect(bench.of('C').at(-1)?.fields[0]).toBe('A');
    bench.run(70 * MINUTE_MS);
    expect(bench.of('C').at(-1)?.fields[0]).toBe('R');
    expect(chipIsOff(bench, clock)).toBeLessThan(0.01);
    expect(boardIsOff(bench)).toBeLessThan(1.5);
  });
});
