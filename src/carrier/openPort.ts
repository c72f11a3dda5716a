import { SerialPort } from 'serialport';
import { Refusal } from '../units/refusal.js';
import { type DurationMs, seconds } from '../units/time.js';
import { refuseWaitingName } from './portName.js';

/** How long to wait before each further attempt to reopen a port; the last one repeats. */
const BACK_OFF: readonly DurationMs[] = [seconds(1), seconds(2), seconds(5), seconds(10)];
/** The wait before the next attempt after so many that failed. */
export const backOff = (failures: number): DurationMs => BACK_OFF[Math.min(failures, BACK_OFF.length - 1)]!;

/** Opens a serial port. @throws {Refusal} one sentence that says why it cannot be opened */
export async function openPort(path: string, baudRate: number): Promise<SerialPort> {
  refuseWaitingName(path);
  return new Promise((resolve, reject) => {
    const port = new SerialPort({ path, baudRate, autoOpen: false, lock: true });
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
