import type { SerialPort } from 'serialport';
import type { Clock } from '../units/clock.js';
import { type DurationMs, seconds } from '../units/time.js';
import type { CarrierEvent, LinkEvent } from './events.js';
import { backOff, openPort } from './openPort.js';
import { readLines } from './readLines.js';
import type { CarrierSource } from './source.js';

export const BAUD_RATE = 38_400;
/** A board says something every second; after this long without a byte the port is opened anew. */
export const SILENCE_MAX: DurationMs = seconds(15);

/**
 * Our board behind a serial port. The first opening must succeed (else a Refusal); after that a port that
 * goes away, falls silent or cannot be reopened is tried again for as long as the logger runs. Opening
 * resets most boards, so that each opening begins with a boot line and a new clock epoch.
 */
export function serialBoard(path: string, clock: Clock): CarrierSource {
  let opened: SerialPort | null = null;
  let current: SerialPort | null = null;
  return {
    name: path,
    async open() {
      opened = await openPort(path, BAUD_RATE);
    },
    async run(onEvent, signal) {
      let port = opened ?? (await openPort(path, BAUD_RATE));
      for (let failures = 0; !signal.aborted; ) {
        current = port;
        onEvent(link(clock, 'open', `${path} is open`));
        const why = await readUntilClosed(port, clock, onEvent, signal);
        current = null;
        onEvent(link(clock, 'closed', `${path}: ${why}`));
        for (failures = 0; !signal.aborted; failures += 1) {
          await clock.sleep(backOff(failures), signal);
          if (signal.aborted) return;
          const again = await openPort(path, BAUD_RATE).catch(() => null);
          if (again) {
            port = again;
            break;
          }
        }
      }
    },
    write(line) {
      // What is written to a closed port would come out after it is opened again.
      if (current?.isOpen) current.write(line, 'latin1');
    },
  };
}

const link = (clock: Clock, state: LinkEvent['state'], detail: string): LinkEvent => ({
  kind: 'link',
  arrival: { utc: clock.utc(), monotonic: clock.monotonic() },
  state,
  detail,
});

async function readUntilClosed(
  port: SerialPort,
  clock: Clock,
  onEvent: (event: CarrierEvent) => void,
  signal: AbortSignal,
): Promise<string> {
  const { input } = readLines(clock, onEvent);
  let lastByte = clock.monotonic();
  return new Promise((resolve) => {
    let why = 'the connection was closed';
    const close = (reason: string) => {
      why = reason;
      if (port.isOpen) port.close(() => {});
    };
    const stopWatching = clock.every(seconds(1), () => {
      if (clock.monotonic() - lastByte > SILENCE_MAX) close('no data for 15 seconds; opening it again');
    });
    const aborted = () => close('closed by the logger');
    signal.addEventListener('abort', aborted, { once: true });
    port.on('data', (chunk: Buffer) => {
      lastByte = clock.monotonic();
      input.write(chunk);
    });
    port.on('error', (error) => {
      why = error.message;
    });
    port.once('close', (error?: { disconnected?: boolean }) => {
      if (error?.disconnected) why = 'the board was unplugged';
      stopWatching();
      signal.removeEventListener('abort', aborted);
      input.end();
      resolve(why);
    });
    if (signal.aborted) aborted();
  });
}
