import { avrInstruction, CPU } from 'avr8js';
import { seededChance } from '../units/clock.js';
import { Agenda } from './agenda.js';
import { type Decoded, decode, FIRST_REACH, RETI, SEI, SLEEP } from './decode.js';
import { attachEeprom, EEPROM_BYTES } from './eeprom.js';
import type { I2cBus } from './i2cBus.js';
import type { OneWireBus } from './oneWireBus.js';
import { attachPinChange } from './pinChange.js';
import { runPlain } from './plainRun.js';
import { attachPort, type OpenDrainLine, PORT_B, PORT_C, PORT_D } from './port.js';
import { reach } from './reach.js';
import { Timer1 } from './timer1.js';
import { attachTimer2 } from './timer2.js';
import { Usart0 } from './usart0.js';
import { attachWatchdog } from './watchdog.js';

const CRYSTAL_HZ = 16_000_000;
const SRAM_BYTES = 2048;
const SRAM_START = 0x100;
/** Pins of hardware/firmware/chip_atmega328p.h. */
const ONEWIRE_BIT = 2;
const SDA_BIT = 4;
const SCL_BIT = 5;
const BUTTON_MASK = 1 << 4;
const LED_MASK = 1 << 5;

const SMCR = 0x53;
const MCUSR = 0x54;
const SREG = 0x5f;
const SE = 0x01;
const SM = 0x0e;
const I = 0x80;

const RESET_FLAG = { 'power-on': 0x01, external: 0x02, 'brown-out': 0x04, watchdog: 0x08 } as const;
export type BoardReset = keyof typeof RESET_FLAG;

/** What the LED on PD5 and the piezo on PB3 do from a moment on. */
export interface BoardOutput {
  readonly atMs: number;
  readonly ledIsOn: boolean;
  /** The piezo's frequency in hertz, null when it is silent. */
  readonly toneHz: number | null;
}

export interface BoardOptions {
  /** Flash words, from loadImage(). */
  readonly image: Uint16Array;
  readonly bus: OneWireBus;
  /** What is on PC4 (data) and PC5 (clock); nothing when left out. */
  readonly i2c?: I2cBus;
  /** Called with each change of LED or piezo. */
  readonly onOutput?: (output: BoardOutput) => void;
  /** Each byte the board sends, at the simulated time of its stop bit, milliseconds since power-on. */
  onByte(byte: number, atMs: number): void;
  /** 1024 bytes, changed in place: what the board remembers without supply. Erased when left out. */
  readonly eeprom?: Uint8Array;
  /** What the SRAM happens to hold at power-on. Boards differ in it. */
  readonly sramSeed?: number;
  /** How much faster the crystal is than it says, parts per million. */
  readonly crystalPpm?: number;
  /** Called with each stretch of microseconds with interrupts off. Slows the run down. */
  readonly onInterruptsOff?: (us: number) => void;
}

function i2cLines(i2c: I2cBus, cyclesPerUs: number): Record<number, OpenDrainLine> {
  const drivenHigh = () => {
    i2c.violations += 1;
  };
  return {
    [SDA_BIT]: {
      pull: (cycle) => i2c.driveSda(true, cycle / cyclesPerUs),
      release: (cycle) => i2c.driveSda(false, cycle / cyclesPerUs),
      isHigh: (cycle) => i2c.sdaIsHigh(cycle / cyclesPerUs),
      drivenHigh,
    },
    [SCL_BIT]: {
      pull: (cycle) => i2c.driveScl(true, cycle / cyclesPerUs),
      release: (cycle) => i2c.driveScl(false, cycle / cyclesPerUs),
      isHigh: (cycle) => i2c.sclIsHigh(cycle / cyclesPerUs),
      drivenHigh,
    },
  };
}

/** Neither CLI nor OUT to the flags: whoever measures has to see each of them. */
const keepsInterrupts = (opcode: number) => opcode !== 0x94f8 && (opcode & 0xfe0f) !== 0xbe0f;

interface Chip {
  readonly cpu: CPU;
  readonly agenda: Agenda;
  readonly usart0: Usart0;
  readonly pinsChanged: (mask: number) => void;
}

/**
 * An ATmega328P at 16 MHz with its image and a 1-Wire bus on PD2. It runs as far as it is told, skipping
 * sleep and delay loops; the same options give the same bytes at the same times.
 */
export class EmulatedBoard {
  readonly #options: BoardOptions;
  readonly #eeprom: Uint8Array;
  readonly #decoded: Decoded;
  readonly #cyclesPerMs: number;
  #chip: Chip;
  #isSleeping = false;
  /** One instruction runs before an interrupt is taken. */
  #isShadowed = false;
  #watchdogTimedOut = false;
  #interruptsOffSince: number | null = null;
  #interruptsWereOn = false;
  #sleptCycles = 0;
  #buttonIsPressed = false;
  #output: BoardOutput = { atMs: 0, ledIsOn: false, toneHz: null };

  /** The board is powered on at time 0. */
  constructor(options: BoardOptions) {
    this.#options = options;
    this.#eeprom = options.eeprom ?? new Uint8Array(EEPROM_BYTES).fill(0xff);
    this.#decoded = options.onInterruptsOff ? decode(options.image, keepsInterrupts) : decode(options.image);
    this.#cyclesPerMs = (CRYSTAL_HZ / 1000) * (1 + (options.crystalPpm ?? 0) / 1_000_000);
    this.#chip = this.#build(0, this.#powerOnSram(), RESET_FLAG['power-on'], false);
  }

  /** Simulated time since the first power-on, milliseconds. */
  get ms(): number {
    return this.#chip.cpu.cycles / this.#cyclesPerMs;
  }

  /** How long it has been asleep of that, milliseconds. */
  get sleptMs(): number {
    return this.#sleptCycles / this.#cyclesPerMs;
  }

  /** The processor, for tests that look or meddle. A reset replaces it. */
  get cpu(): CPU {
    return this.#chip.cpu;
  }

  /** Runs until `untilMs` of simulated time; nothing happens when that is past. */
  run(untilMs: number): void {
    const until = Math.ceil(untilMs * this.#cyclesPerMs);
    while (this.#chip.cpu.cycles < until) {
      this.#execute(until);
      if (this.#watchdogTimedOut) this.#restart('watchdog');
    }
  }

  /** Resets the board. Power-on also restarts the thermometers and loses the SRAM. */
  reset(cause: Exclude<BoardReset, 'watchdog'>): void {
    this.#restart(cause);
  }

  /** A byte arrives whole at the serial port. */
  receive(byte: number): void {
    this.#chip.usart0.receive(byte);
  }

  /** The button is pressed or let go. */
  press(isPressed: boolean): void {
    if (isPressed === this.#buttonIsPressed) return;
    this.#buttonIsPressed = isPressed;
    this.#chip.pinsChanged(BUTTON_MASK);
  }

  #show(change: Partial<BoardOutput>): void {
    const before = this.#output;
    this.#output = { ...before, ...change, atMs: this.ms };
    if (this.#output.ledIsOn === before.ledIsOn && this.#output.toneHz === before.toneHz) return;
    this.#options.onOutput?.(this.#output);
  }

  #restart(cause: BoardReset): void {
    const { cpu } = this.#chip;
    const isPowerOn = cause === 'power-on';
    if (isPowerOn) {
      this.#options.bus.powerUp();
      this.#options.i2c?.cutPower((cpu.cycles / this.#cyclesPerMs) * 1000);
    }
    const flags = (isPowerOn ? 0 : (cpu.data[MCUSR] ?? 0)) | RESET_FLAG[cause];
    const sram = isPowerOn ? this.#powerOnSram() : cpu.data.slice(SRAM_START);
    // All pins become inputs.
    for (const { ddr, port } of [PORT_C, PORT_D]) {
      cpu.writeData(ddr, 0);
      cpu.writeData(port, 0);
    }
    this.#show({ ledIsOn: false, toneHz: null });
    this.#watchdogTimedOut = false;
    this.#isSleeping = false;
    this.#isShadowed = false;
    this.#interruptsOffSince = null;
    this.#interruptsWereOn = false;
    this.#chip = this.#build(cpu.cycles, sram, flags, cause === 'watchdog');
  }

  #powerOnSram(): Uint8Array {
    const chance = seededChance(this.#options.sramSeed ?? 1);
    return Uint8Array.from({ length: SRAM_BYTES }, () => Math.floor(chance.uniform() * 256));
  }

  /** The processor and its peripherals, fresh from reset, at clock cycle `cycles`. */
  #build(cycles: number, sram: Uint8Array, resetFlags: number, wasWatchdog: boolean): Chip {
    const { image, bus, i2c, onByte } = this.#options;
    const cpu = new CPU(image, SRAM_BYTES);
    const agenda = new Agenda();
    const cyclesPerUs = this.#cyclesPerMs / 1000;
    cpu.cycles = cycles;
    cpu.data.set(sram, SRAM_START);
    cpu.data[MCUSR] = resetFlags;
    // A flag is cleared by writing 0 to it, and never set by writing.
    cpu.writeHooks[MCUSR] = (value, old) => {
      cpu.data[MCUSR] = old & value;
      return true;
    };
    const oneWire: OpenDrainLine = {
      pull: (cycle) => bus.pull(cycle / cyclesPerUs),
      release: (cycle) => bus.release(cycle / cyclesPerUs),
      isHigh: (cycle) => bus.isHigh(cycle / cyclesPerUs),
      drivenHigh: () => bus.violate('line driven high'),
    };
    attachPort(cpu, PORT_D, {
      lines: { [ONEWIRE_BIT]: oneWire },
      heldLow: () => (this.#buttonIsPressed ? BUTTON_MASK : 0),
      onDrivenHigh: (mask) => this.#show({ ledIsOn: (mask & LED_MASK) !== 0 }),
    });
    attachPort(cpu, PORT_C, i2c ? { lines: i2cLines(i2c, cyclesPerUs) } : { pulledUp: 0x30 });
    attachPort(cpu, PORT_B, {});
    attachTimer2(cpu, CRYSTAL_HZ, (toneHz) => this.#show({ toneHz }));
    const pinsChanged = attachPinChange(cpu);
    new Timer1(cpu, agenda);
    attachEeprom(cpu, agenda, this.#eeprom);
    attachWatchdog(cpu, agenda, wasWatchdog, () => {
      this.#watchdogTimedOut = true;
    });
    const usart0 = new Usart0(cpu, agenda, (byte) => onByte(byte, this.ms));
    return { cpu, agenda, usart0, pinsChanged };
  }

  /** Runs the present chip until clock cycle `until` or its watchdog's reset. */
  #execute(until: number): void {
    const { cpu, agenda } = this.#chip;
    const { data } = cpu;
    const decoded = this.#decoded;
    const isMeasuring = this.#options.onInterruptsOff !== undefined;
    // Bound here once: a test runner makes each use of an import a look-up, and that would halve the pace.
    const [execute, runOn, reachOut] = [avrInstruction, runPlain, reach];
    const [firstReach, sei, reti, sleep] = [FIRST_REACH, SEI, RETI, SLEEP];
    while (cpu.cycles < until) {
      if (agenda.next <= cpu.cycles) {
        agenda.run(cpu.cycles);
        if (this.#watchdogTimedOut) return;
      }
      if (cpu.nextInterrupt >= 0 && (data[SREG] as number) & I && !this.#isShadowed) {
        this.#isSleeping = false;
        if (isMeasuring) this.#measure(false);
        cpu.tick();
        cpu.cycles += 2; // avr8js counts two of the four cycles
      }
      if (this.#isSleeping) {
        const wake = Math.min(agenda.next, until);
        this.#sleptCycles += wake - cpu.cycles;
        cpu.cycles = wake;
        continue;
      }
      const wasShadowed = this.#isShadowed;
      this.#isShadowed = false;
      const kind = (decoded[cpu.pc] as number) & 0xff;
      if (kind >= firstReach) {
        reachOut(cpu, decoded);
        if (kind === sleep) this.#isSleeping = this.#sleepIsEnabled(data[SMCR] as number);
        else this.#isShadowed = kind === sei || kind === reti;
      } else {
        const before = cpu.cycles;
        const limit = Math.min(agenda.next, until);
        // No interrupt can come up among instructions that touch registers and memory only.
        if (kind !== 0) runOn(cpu, decoded, wasShadowed && cpu.nextInterrupt >= 0 ? before + 1 : limit);
        if (cpu.cycles === before) execute(cpu);
      }
      if (isMeasuring) this.#measure(((data[SREG] as number) & I) !== 0);
    }
  }

  /** In the deeper sleeps the timer and the serial port stand still: not modelled, and never to be taken for it. */
  #sleepIsEnabled(control: number): boolean {
    if (control & SM)
      throw new Error('the emulated board knows idle sleep only, and its program asked for another');
    return (control & SE) !== 0;
  }

  /** Start-up, before interrupts are first on, does not count. */
  #measure(isOn: boolean): void {
    const { cycles } = this.#chip.cpu;
    if (!isOn) {
      if (this.#interruptsWereOn) this.#interruptsOffSince ??= cycles;
      return;
    }
    this.#interruptsWereOn = true;
    if (this.#interruptsOffSince === null) return;
    this.#options.onInterruptsOff?.(((cycles - this.#interruptsOffSince) / this.#cyclesPerMs) * 1000);
    this.#interruptsOffSince = null;
  }
}
