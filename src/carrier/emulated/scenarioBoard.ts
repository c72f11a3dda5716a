import { EmulatedBoard } from '../../emulator/board.js';
import { ClockChip } from '../../emulator/clockChip.js';
import { EEPROM_BYTES } from '../../emulator/eeprom.js';
import type { Fault } from '../../emulator/faults.js';
import { I2cBus } from '../../emulator/i2cBus.js';
import { loadImage } from '../../emulator/image.js';
import { OneWireBus } from '../../emulator/oneWireBus.js';
import type { Scenario, ScenarioCarrier } from '../../emulator/scenario.js';
import { SerialMemory } from '../../emulator/serialMemory.js';
import { Thermometer } from '../../emulator/thermometer.js';
import { durationMs, later, MS_PER_SECOND } from '../../units/time.js';
import { firmwareImage } from './firmwareImage.js';

/** What a board sent in one go: a line, or the part of one that was out when the run stopped. */
export interface Chunk {
  /** When its last byte was out, milliseconds since power-on. */
  readonly atMs: number;
  readonly bytes: Uint8Array;
}

/** One emulated carrier of a scenario: the real firmware image over thermometers in the scenario's vehicle. */
export interface ScenarioBoard {
  /**
   * Runs to `untilMs` after power-on, which is the scenario's start, and gives what was sent meanwhile. What the host
   * says arrives byte by byte from now on.
   */
  run(untilMs: number, said?: string): Chunk[];
  /** A host opens its port: the board begins anew. */
  reset(): void;
  /** Its button is pressed or let go. */
  press(isPressed: boolean): void;
  /** How often each timing window of the thermometers was missed. */
  violations(): ReadonlyMap<string, number>;
}

/** What is wrong with a board beside what its scenario says. */
export interface BoardFaults {
  readonly bus: readonly Fault[];
  readonly withoutMemory: boolean;
  readonly clock: 'running' | 'stopped' | 'absent';
}
export const SOUND: BoardFaults = { bus: [], withoutMemory: false, clock: 'running' };

const LF = 0x0a;
/** One byte at 38400 baud. */
const BYTE_MS = 10 / 38.4;

/** Time for a board's first boot, in which it chooses its id and writes it down. */
const BORN_MS = 5000;
const BOOT_MS = 1000;

/** What a board remembers after its first boot: an id of its own, whatever it is used for later. */
function bornEeprom(carrier: ScenarioCarrier, sramSeed: number): Uint8Array {
  const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
  const thermometers = carrier.slots.map(({ rom }) => new Thermometer({ rom, temperatureAt: () => 20 }));
  new EmulatedBoard({
    image: loadImage(firmwareImage()),
    bus: new OneWireBus({ thermometers, faults: [] }),
    eeprom,
    sramSeed,
    onByte: () => {},
  }).run(BORN_MS);
  return eeprom;
}

/** @param boots how often the board was switched on before; it keeps its id and counts on from there */
export function scenarioBoard(
  scenario: Scenario,
  carrier: ScenarioCarrier,
  boots = 0,
  wrong: BoardFaults = SOUND,
): ScenarioBoard {
  // Each carrier's board wakes with other SRAM, which is where its id comes from.
  const sramSeed = scenario.carriers.indexOf(carrier) + 1;
  /** The scenario's start by the emulated board's time: after the boots before this one. */
  const originMs = Math.max(0, boots - 1) * BOOT_MS;
  const vehicle = scenario.vehicle();
  const sinceStart = (at: number) => at - scenario.start + originMs;
  const bus = new OneWireBus({
    thermometers: carrier.slots.map(
      ({ rom }) =>
        new Thermometer({
          rom,
          temperatureAt: (ms) => vehicle.probe(rom, later(scenario.start, durationMs(ms - originMs))),
        }),
    ),
    faults: [
      ...carrier.faults.map(({ rom, from, to, fault }) => ({
        kind: fault,
        rom,
        fromMs: sinceStart(from),
        toMs: sinceStart(to),
      })),
      ...wrong.bus,
    ],
  });

  let chunks: Chunk[] = [];
  let line: number[] = [];
  const cut = (atMs: number) => {
    if (line.length > 0) chunks.push({ atMs: atMs - originMs, bytes: Uint8Array.from(line) });
    line = [];
  };
  const board = new EmulatedBoard({
    image: loadImage(firmwareImage()),
    bus,
    i2c: new I2cBus({
      chips: [
        ...(wrong.withoutMemory ? [] : [new SerialMemory()]),
        ...(wrong.clock === 'absent'
          ? []
          : [
              new ClockChip({
                utcSeconds: Math.floor((scenario.start - originMs) / MS_PER_SECOND),
                hadStopped: wrong.clock === 'stopped',
              }),
            ]),
      ],
    }),
    sramSeed,
    ...(boots > 0 ? { eeprom: bornEeprom(carrier, sramSeed) } : {}),
    onByte: (byte, atMs) => {
      line.push(byte);
      if (byte === LF) cut(atMs);
    },
  });

  for (let boot = 1; boot < boots; boot += 1) {
    board.run(boot * BOOT_MS);
    board.reset('power-on');
  }
  chunks = [];
  line = [];

  let arriving: number[] = [];
  const receive = (untilMs: number) => {
    while (arriving.length > 0 && board.ms + BYTE_MS <= untilMs) {
      board.run(board.ms + BYTE_MS);
      board.receive(arriving.shift()!);
    }
  };

  return {
    run(untilMs, said = '') {
      arriving = [...arriving, ...Buffer.from(said, 'latin1')];
      receive(originMs + untilMs);
      board.run(originMs + untilMs);
      cut(originMs + untilMs);
      const sent = chunks;
      chunks = [];
      return sent;
    },
    reset: () => board.reset('external'),
    press: (isPressed) => board.press(isPressed),
    violations: () => bus.violations,
  };
}
