import { SerialPort } from 'serialport';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { type DurationMs, seconds } from '../units/time.js';
import type { CarrierEvent, LinkEvent } from './events.js';
import { readLines } from './readLines.js';
import type { CarrierSource } from './source.js';

export const BAUD_RATE = 38_400;
/** How long to wait before each further attempt to reopen a port; the last one repeats. */
const BACK_OFF: readonly DurationMs[] = [seconds(1), seconds(2), seconds(5), seconds(10)];
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
      opened = await open(path);
    },
    async run(onEvent, signal) {
      let port = opened ?? (await open(path));
      for (let failures = 0; !signal.aborted; ) {
        current = port;
        onEvent(link(clock, 'open', `${path} is open`));
        const why = await readUntilClosed(port, clock, onEvent, signal);
        current = null;
        onEvent(link(clock, 'closed', `${path}: ${why}`));
        for (failures = 0; !signal.aborted; failures += 1) {
          await clock.sleep(BACK_OFF[Math.min(failures, BACK_OFF.length - 1)]!, signal);
          if (signal.aborted) return;
          const again = await open(path).catch(() => null);
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

/** Opens the port, or explains in one sentence why it cannot be. */
function open(path: string): Promise<SerialPort> {
  return new Promise((resolve, reject) => {
    const port = new SerialPort({ path, baudRate: BAUD_RATE, autoOpen: false, lock: true });
    port.open((error) => (error ? reject(new Refusal(explain(path, error.message))) : resolve(port)));
  });
}

function explain(path: string, message: string): string {
  if (/no such file|cannot find|not found/i.test(message))
    return `Port ${path} does not exist; plug the board in and name its port with --port.`;
  if (/inappropriate ioctl|not a tty/i.test(message))
    return `${path} is not a serial port; name the port the board is plugged into.`;
  if (/lock|busy|access denied/i.test(message))
    return `Port ${path} is in use by another program; close that program, or name another port.`;
  if (/permission/i.test(message))
    return `Port ${path} may not be opened by this user; join the group that owns it (often dialout), then log in again.`;
  return `Port ${path} cannot be opened (${message}); check that it is a board's serial port.`;
}

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
