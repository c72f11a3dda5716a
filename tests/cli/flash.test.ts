import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from './run.js';

let folder: string;
let image: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-flash-'));
  image = join(folder, 'x.hex');
  writeFileSync(image, ':00000001FF\n');
  const sum = createHash('sha256').update(':00000001FF\n').digest('hex');
  writeFileSync(`${image}.sha256`, `${sum}  x.hex\n`);
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('carrier flash --dry-run', () => {
  it('prints the command line and says what it would do', async () => {
    const { code, out, err } = await run([
      'carrier',
      'flash',
      '--port',
      '/dev/x',
      '--image',
      image,
      '--dry-run',
    ]);
    expect({ code, out }).toEqual({
      code: 0,
      out: `avrdude -p atmega328p -c arduino -P /dev/x -b 115200 -D -U flash:w:${image}:i\n`,
    });
    expect(err).toContain('replaces the program of the board on /dev/x');
  });

  it('takes the image that comes with the program when none is named', async () => {
    const { code, out } = await run(['carrier', 'flash', '--port', '/dev/x', '--dry-run']);
    expect(code).toBe(0);
    expect(out).toContain('hardware/firmware/image/stillwarm.hex:i');
  });

  it('refuses an image that is not what its check sum says', async () => {
    writeFileSync(image, ':00000001FE\n');
    const { code, err, out } = await run([
      'carrier',
      'flash',
      '--port',
      '/dev/x',
      '--image',
      image,
      '--dry-run',
    ]);
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toContain('is not what its check sum says');
  });

  it('refuses an image without check sum', async () => {
    rmSync(`${image}.sha256`);
    const { code, err } = await run(['carrier', 'flash', '--port', '/dev/x', '--image', image, '--dry-run']);
    expect(code).toBe(1);
    expect(err).toContain('cannot be read');
  });
});
