import type { CPU } from 'avr8js';
import type { Agenda } from './agenda.js';

const WDTCSR = 0x60;

const WDIF = 0x80;
const WDIE = 0x40;
const WDP3 = 0x20;
const WDCE = 0x10;
const WDE = 0x08;
const PROTECTED = WDP3 | WDE | 0x07;

/** 2048 periods of its own 128 kHz oscillator, in cycles of the 16 MHz crystal; doubled by each step of WDP. */
const SHORTEST_CYCLES = (2048 * 16_000_000) / 128_000;
const CHANGE_WINDOW_CYCLES = 4;

const TIMEOUT = {
  address: 0x0c,
  flagRegister: WDTCSR,
  flagMask: WDIF,
  enableRegister: WDTCSR,
  enableMask: WDIE,
};

/**
 * The watchdog with its timed change sequence. After its own reset it stays on at its shortest time-out, as
 * WDRF demands. `onTimeout` is called when it resets the chip.
 */
export function attachWatchdog(cpu: CPU, agenda: Agenda, wasItsReset: boolean, onTimeout: () => void): void {
  let fedAt = cpu.cycles;
  let changeUntil = 0;
  const control = () => cpu.data[WDTCSR] ?? 0;
  const period = () => SHORTEST_CYCLES * 2 ** (((control() & WDP3) >> 2) | (control() & 0x07));

  const check = agenda.register(() => {
    const due = fedAt + period();
    if (cpu.cycles < due) {
      agenda.schedule(check, due);
      return;
    }
    const settings = control();
    fedAt = cpu.cycles;
    if (settings & WDIE) {
      cpu.setInterruptFlag(TIMEOUT);
      if (settings & WDE) cpu.data[WDTCSR] = control() & ~WDIE;
      agenda.schedule(check, fedAt + period());
    } else if (settings & WDE) {
      onTimeout();
    }
  });

  /** Fed far more often than it can time out: only the check looks at when. */
  cpu.onWatchdogReset = () => {
    fedAt = cpu.cycles;
  };
  const set = (value: number) => {
    cpu.data[WDTCSR] = value;
    fedAt = cpu.cycles;
    agenda.schedule(check, value & (WDE | WDIE) ? fedAt + period() : Number.POSITIVE_INFINITY);
  };
  cpu.writeHooks[WDTCSR] = (value, old) => {
    if (value & WDCE && value & WDE) changeUntil = cpu.cycles + 2 + CHANGE_WINDOW_CYCLES;
    const mayChange = cpu.cycles < changeUntil && !(value & WDCE);
    const kept = mayChange ? value & PROTECTED : (old & PROTECTED) | (value & WDE);
    set(kept | (value & WDIE));
    cpu.clearInterruptByFlag(TIMEOUT, value);
    return true;
  };
  if (wasItsReset) set(WDE);
}
