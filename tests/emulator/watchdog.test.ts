import { CPU } from 'avr8js';
import { describe, expect, test } from 'vitest';
import { Agenda } from '../../src/emulator/agenda.js';
import { attachWatchdog } from '../../src/emulator/watchdog.js';

const WDTCSR = 0x60;
const WDCE = 0x10;
const WDE = 0x08;
const TWO_SECONDS = 0x07;

const MS = 16_000;

function watchdog(wasItsReset = false) {
  const cpu = new CPU(new Uint16Array(16), 2048);
  const agenda = new Agenda();
  const resets: number[] = [];
  attachWatchdog(cpu, agenda, wasItsReset, () => resets.push(cpu.cycles));
  const to = (cycle: number) => {
    while (agenda.next <= cycle) {
      cpu.cycles = agenda.next;
      agenda.run(cpu.cycles);
    }
    cpu.cycles = cycle;
  };
  const enable = (settings: number) => {
    cpu.writeData(WDTCSR, WDCE | WDE);
    cpu.cycles += 2;
    cpu.writeData(WDTCSR, settings);
  };
  return { cpu, resets, to, enable };
}

describe('the watchdog', () => {
  test('resets after its time when it is not fed', () => {
    const { resets, to, enable } = watchdog();
    enable(WDE | TWO_SECONDS);
    to(2047 * MS);
    expect(resets).toEqual([]);
    to(2049 * MS); // 2^18 periods of 128 kHz: 2.048 s
    expect(resets).toHaveLength(1);
  });

  test('does not reset while it is fed', () => {
    const { cpu, resets, to, enable } = watchdog();
    enable(WDE | TWO_SECONDS);
    for (let ms = 1000; ms <= 20_000; ms += 1000) {
      to(ms * MS);
      cpu.onWatchdogReset();
    }
    to(22_000 * MS);
    expect(resets).toEqual([]);
  });

  test('stays as it is when changed without the timed sequence', () => {
    const { cpu, resets, to, enable } = watchdog();
    enable(WDE | TWO_SECONDS);
    cpu.cycles += 100;
    cpu.writeData(WDTCSR, 0);
    to(3000 * MS);
    expect(resets).toHaveLength(1);
  });

  test('is switched off by the timed sequence', () => {
    const { resets, to, enable } = watchdog();
    enable(WDE | TWO_SECONDS);
    enable(0);
    to(60_000 * MS);
    expect(resets).toEqual([]);
  });

  test('is on at 16 ms after a reset of its own', () => {
    const { resets, to } = watchdog(true);
    to(17 * MS);
    expect(resets).toHaveLength(1);
  });
});
