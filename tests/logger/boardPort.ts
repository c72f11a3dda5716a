import type { ByteWire } from '../../src/carrier/byteWire.js';
import { firmwareImage } from '../../src/carrier/emulated/firmwareImage.js';
import type { PortAccess } from '../../src/carrier/findBoard.js';
import { EmulatedBoard } from '../../src/emulator/board.js';
import { ClockChip } from '../../src/emulator/clockChip.js';
import { I2cBus } from '../../src/emulator/i2cBus.js';
import { loadImage } from '../../src/emulator/image.js';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import { SerialMemory } from '../../src/emulator/serialMemory.js';
import { Thermometer } from '../../src/emulator/thermometer.js';
import type { RomId } from '../../src/units/ids.js';
import { durationMs, type UtcMs } from '../../src/units/time.js';
import type { VirtualClock } from '../carrier/host/virtualClock.js';

const TICK = durationMs(250);
/** One byte at 38400 baud. */
const BYTE_MS = 10 / 38.4;
/** What the kernel keeps of a terminal's input while nobody reads it; what comes after is lost. */
const KERNEL_BYTES = 4095;

/**
 * A serial port of a computer that lives in virtual time, with the real image on an emulated board at the other end.
 * The board goes on while the computer sleeps.
 */
export function boardPort(options: {
  readonly clock: VirtualClock;
  readonly start: UtcMs;
  readonly roms: readonly RomId[];
  readonly temperature: (rom: RomId, ms: number) => number;
  readonly sramSeed: number;
  /** Without memory for its log when false. */
  readonly hasMemory?: boolean;
  /** Called around each run of the board, to tell its share of the work from the logger's. */
  readonly around?: (run: () => void) => void;
}): PortAccess {
  const { clock, start, roms, temperature, sramSeed, around = (run) => run() } = options;
  let sent: number[] = [];
  const clockChip = new ClockChip({ utcSeconds: start / 1000 });
  const board = new EmulatedBoard({
    image: loadImage(firmwareImage()),
    sramSeed,
    bus: new OneWireBus({
      thermometers: roms.map(
        (rom) => new Thermometer({ rom, temperatureAt: (ms) => temperature(rom, ms) as never }),
      ),
      faults: [],
    }),
    i2c: new I2cBus({
      chips: options.hasMemory === false ? [clockChip] : [new SerialMemory({}), clockChip],
      faults: [],
    }),
    onByte: (byte) => sent.push(byte),
  });
  const toBoard: number[] = [];
  const runTo = (ms: number) =>
    around(() => {
      while (toBoard.length > 0 && board.ms + BYTE_MS <= ms) {
        board.run(board.ms + BYTE_MS);
        board.receive(toBoard.shift()!);
      }
      board.run(ms);
    });

  const open = (): Promise<ByteWire> => {
    let take: (bytes: Uint8Array) => void = () => {};
    let closed: (why: string) => void = () => {};
    let at = clock.passed;
    const stop = clock.every(TICK, () => {
      const asleep = clock.passed - at > TICK * 2;
      at = clock.passed;
      runTo(clock.passed);
      const bytes = Uint8Array.from(asleep ? sent.slice(0, KERNEL_BYTES) : sent);
      sent = [];
      if (bytes.length > 0) take(bytes);
    });
    return Promise.resolve({
      onData: (listener) => {
        take = listener;
      },
      onClosed: (listener) => {
        closed = listener;
      },
      write: (bytes) => void toBoard.push(...Buffer.from(bytes)),
      close: (why) => {
        stop();
        closed(why);
      },
    });
  };
  return { open, present: () => Promise.resolve([]) };
}
