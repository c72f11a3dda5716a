import { type ChildProcess, spawn } from 'node:child_process';
import { createReadStream, createWriteStream, existsSync, mkdtempSync } from 'node:fs';
import { join } from 'node:path';
import { firmwareImage } from '../../src/carrier/emulated/firmwareImage.js';
import { EmulatedBoard } from '../../src/emulator/board.js';
import { ClockChip } from '../../src/emulator/clockChip.js';
import { I2cBus } from '../../src/emulator/i2cBus.js';
import { loadImage } from '../../src/emulator/image.js';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import { SerialMemory } from '../../src/emulator/serialMemory.js';
import { Thermometer } from '../../src/emulator/thermometer.js';
import type { RomId } from '../../src/units/ids.js';
import { until } from './program.js';

/** Often enough that the board hears bytes at their pace. */
const TICK_MS = 10;
/** A little over one byte at 38400 baud. */
const BYTE_MS = 0.27;

/** The real image with memory and clock at one end of a null-modem cable, in step with the real clock. */
export interface BoardOnCable {
  readonly hostEnd: string;
  /** All lines that hosts have said to it, as they arrived. */
  said(): string;
  /** How long it has been switched on, milliseconds. */
  ms(): number;
  off(): void;
}

/**
 * Makes a board that was alone until now, and plugs it into a cable whose ends lie in `folder`.
 *
 * @param alone what happens to it meanwhile; its clock told the right time when it was switched on
 */
export async function boardOnCable(options: {
  readonly folder: string;
  readonly roms: readonly RomId[];
  readonly temperature: (rom: RomId, ms: number) => number;
  readonly aloneMs: number;
  readonly alone?: (board: EmulatedBoard) => void;
  /** Whether it restarts when it is plugged in. */
  readonly reset: boolean;
}): Promise<BoardOnCable> {
  const { roms, temperature, aloneMs, alone } = options;
  // A folder for each: a cable that goes away takes the names of its ends with it.
  const folder = mkdtempSync(join(options.folder, 'cable-'));
  const [boardEnd, hostEnd] = [join(folder, 'board'), join(folder, 'host')];
  const cable: ChildProcess = spawn('socat', [`pty,rawer,link=${boardEnd}`, `pty,rawer,link=${hostEnd}`], {
    stdio: 'ignore',
  });
  await until('the cable is plugged in', () => existsSync(boardEnd) && existsSync(hostEnd), 10);

  const start = Math.floor(Date.now() / 1000) * 1000 - aloneMs;
  let sent: number[] = [];
  const board = new EmulatedBoard({
    image: loadImage(firmwareImage()),
    bus: new OneWireBus({
      thermometers: roms.map(
        (rom) => new Thermometer({ rom, temperatureAt: (ms) => temperature(rom, ms) as never }),
      ),
      faults: [],
    }),
    i2c: new I2cBus({
      chips: [new SerialMemory({}), new ClockChip({ utcSeconds: start / 1000 })],
      faults: [],
    }),
    onByte: (byte) => sent.push(byte),
  });
  alone?.(board);
  // Emulating the time alone takes time as well.
  for (let late = 10; late > 0; late -= 1) board.run(Date.now() - start);
  if (options.reset) board.reset('external');
  sent = [];

  const out = createWriteStream(boardEnd);
  const received: number[] = [];
  let said = '';
  const input = createReadStream(boardEnd).on('data', (data) => {
    received.push(...(data as Buffer));
    said += data.toString('latin1');
  });
  out.on('error', () => {});
  input.on('error', () => {});
  const timer = setInterval(() => {
    const now = Date.now() - start;
    for (; received.length > 0 && board.ms + BYTE_MS < now; board.receive(received.shift()!))
      board.run(board.ms + BYTE_MS);
    board.run(now);
    if (sent.length > 0) out.write(Uint8Array.from(sent));
    sent = [];
  }, TICK_MS);
  return {
    hostEnd,
    said: () => said,
    ms: () => board.ms,
    off: () => {
      clearInterval(timer);
      out.destroy();
      input.destroy();
      cable.kill();
    },
  };
}
