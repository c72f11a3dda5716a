import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { chmodSync, existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { PROGRAM } from '../../end-to-end/program.js';
import { eachInNewFolder } from '../../tools/newFolder.js';
import { run } from '../run.js';

let folder: string;
let image: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  image = join(folder, 'x.hex');
  writeFileSync(image, ':00000001FF\n');
  const sum = createHash('sha256').update(':00000001FF\n').digest('hex');
  writeFileSync(`${image}.sha256`, `${sum}  x.hex\n`);
});

const dryRun = (...options: string[]) =>
  run(['carrier', 'flash', '--port', '/dev/x', ...options, '--dry-run']);

describe('carrier flash --dry-run', () => {
  it('prints the command line and says what it would do', async () => {
    const { code, out, err } = await dryRun('--image', image);
    expect({ code, out }).toEqual({
      code: 0,
      out: `avrdude -p atmega328p -c arduino -P /dev/x -b 115200 -D -U flash:w:${image}:i\n`,
    });
    expect(err).toContain('replaces the program of the board on /dev/x');
  });

  it('takes the image that comes with the program when none is named', async () => {
    const { code, out } = await dryRun();
    expect(code).toBe(0);
    expect(out).toContain('hardware/firmware/image/stillwarm.hex:i');
  });

  it('refuses an image that is not what its check sum says', async () => {
    writeFileSync(image, ':00000001FE\n');
    const { code, err, out } = await dryRun('--image', image);
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toContain('is not what its check sum says');
  });

  it('refuses an image without check sum', async () => {
    rmSync(`${image}.sha256`);
    const { code, err } = await dryRun('--image', image);
    expect(code).toBe(1);
    expect(err).toContain('cannot be read');
  });
});

/** A program in the place of avrdude: notes what it was called with, and ends with a status. */
function standIn(status: number): void {
  const path = join(folder, 'avrdude');
  writeFileSync(path, `#!/bin/sh\nprintf '%s\\n' "$@" > "${folder}/called"\nexit ${status}\n`);
  chmodSync(path, 0o755);
}
const flashing = (...options: string[]) =>
  spawnSync(
    process.execPath,
    [PROGRAM, 'carrier', 'flash', '--port', '/dev/x', '--image', image, ...options],
    {
      encoding: 'utf8',
      env: { ...process.env, PATH: folder },
    },
  );
const called = () =>
  existsSync(join(folder, 'called')) ? readFileSync(join(folder, 'called'), 'utf8') : null;

describe('carrier flash', () => {
  it('runs avrdude with just the arguments it prints with --dry-run, and says what to do next', () => {
    standIn(0);
    const { status, stdout } = flashing('--baud', '57600');
    expect({ status, stdout }).toEqual({
      status: 0,
      stdout: 'the firmware was written to the board on /dev/x; look at it with carrier check\n',
    });
    const dry = flashing('--baud', '57600', '--dry-run').stdout.trim().split(' ');
    expect(dry).toContain('57600');
    expect(called()!.trim().split('\n')).toEqual(dry.slice(1));
  });

  it('says that the board may hold half a program when avrdude fails', () => {
    standIn(3);
    const { status, stderr, stdout } = flashing();
    expect({ status, stdout }).toEqual({ status: 1, stdout: '' });
    expect(stderr).toContain(
      'avrdude ended with 3; the board may hold half a program: run this again, with --baud 57600',
    );
  });

  it('names the package when there is no avrdude', () => {
    const { status, stderr } = flashing();
    expect(status).toBe(1);
    expect(stderr).toContain('avrdude is not installed; install it, Debian calls its package avrdude.');
  });

  it('runs nothing when the image is not what its check sum says, or the speed is none', () => {
    standIn(0);
    expect(flashing('--baud', '9600').stderr).toContain('--baud 9600 is no speed');
    writeFileSync(image, ':00000001FE\n');
    expect(flashing().status).toBe(1);
    expect(called()).toBeNull();
  });
});
