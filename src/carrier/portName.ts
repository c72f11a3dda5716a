import { Refusal } from '../units/refusal.js';

/**
 * macOS gives a serial port two names: opening /dev/tty.X waits until the other end says that a carrier is there, which boards
 * never do; /dev/cu.X opens at once.
 */
const WAITS = /^\/dev\/tty\.(?=.)/;
const OPENS = '/dev/cu.';

/** The name under which a port opens at once. */
export const openName = (path: string, platform: string): string =>
  platform === 'darwin' ? path.replace(WAITS, OPENS) : path;

/** @throws {Refusal} for a name that would keep the program waiting */
export function refuseWaitingName(path: string, platform: string = process.platform): void {
  const other = openName(path, platform);
  if (other !== path)
    throw new Refusal(
      `Opening ${path} may wait for ever on macOS, for a signal that boards do not give; name the port ${other} instead, which is the same one and opens at once.`,
    );
}
