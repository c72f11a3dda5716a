import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { firmwareImagePath } from '../../carrier/emulated/firmwareImage.js';
import { refuseWaitingName } from '../../carrier/portName.js';
import { Refusal } from '../../units/refusal.js';
import { refuseIrregular } from '../../units/regularFile.js';
import type { Io } from '../io.js';

/** Of small bootloaders; older ones are slower (common practice, no source). */
export const BAUDS = ['115200', '57600'];

/** The command line that writes an image through the board's bootloader. */
export const avrdudeArguments = (port: string, image: string, baud: string): string[] => [
  '-p',
  'atmega328p',
  '-c',
  'arduino',
  '-P',
  port,
  '-b',
  baud,
  '-D',
  '-U',
  `flash:w:${image}:i`,
];

/**
 * Writes the firmware with avrdude, after its check sum has been found right.
 *
 * @throws {Refusal} when the image or its check sum is missing or wrong, or avrdude fails
 */
export function flash(options: { port: string; image?: string; baud: string; dryRun?: true }, io: Io): void {
  refuseWaitingName(options.port);
  if (!BAUDS.includes(options.baud))
    throw new Refusal(
      `--baud ${options.baud} is no speed of such a bootloader; write ${BAUDS.join(' or ')}.`,
    );
  const image = options.image ?? firmwareImagePath();
  const sum = checkedSum(image);
  const args = avrdudeArguments(options.port, image, options.baud);
  io.err(`${image}: SHA-256 ${sum}, as it should be`);
  io.err(
    `this replaces the program of the board on ${options.port}; its log, settings and id stay. Stop the logger first.`,
  );
  if (options.dryRun) {
    io.out(['avrdude', ...args].join(' '));
    return;
  }
  const { error, status } = spawnSync('avrdude', args, { stdio: 'inherit' });
  if (error && 'code' in error && error.code === 'ENOENT')
    throw new Refusal('avrdude is not installed; install it, Debian calls its package avrdude.');
  if (error) throw new Refusal(`avrdude cannot be run (${error.message}); look at its file.`);
  if (status !== 0)
    throw new Refusal(
      `avrdude ended with ${status ?? 'a signal'}; the board may hold half a program: run this again, with --baud ${BAUDS.find((baud) => baud !== options.baud)} if it did not answer.`,
    );
  io.out(`the firmware was written to the board on ${options.port}; look at it with carrier check`);
}

function checkedSum(image: string): string {
  const expected = readOrRefuse(`${image}.sha256`).toString('latin1').trim().split(/\s+/)[0] ?? '';
  const actual = createHash('sha256').update(readOrRefuse(image)).digest('hex');
  if (actual !== expected)
    throw new Refusal(
      `${image} is not what its check sum says (${actual}, not ${expected}); fetch or build it again.`,
    );
  return actual;
}

function readOrRefuse(path: string): Buffer {
  refuseIrregular(path, 'name an image with --image');
  try {
    return readFileSync(path);
  } catch (error) {
    throw new Refusal(`${path} cannot be read (${(error as Error).message}); name an image with --image.`);
  }
}
