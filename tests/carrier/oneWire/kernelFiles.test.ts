import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { kernelFiles } from '../../../src/carrier/oneWire/kernelFiles.js';
import { utcMs } from '../../../src/units/time.js';
import { VirtualClock } from '../host/virtualClock.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-files-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('kernelFiles()', () => {
  it('gives null, or false, for what is not there', async () => {
    const files = kernelFiles(folder, new VirtualClock(utcMs(0)));
    expect(await files.list('none')).toBeNull();
    expect(await files.read('none')).toBeNull();
    // A file that is not there is not made.
    expect(await files.write('x', 'none')).toBe(false);
    expect(await files.list()).toEqual([]);
  });

  it('reads and writes what is there', async () => {
    writeFileSync(join(folder, 'there'), '0\n');
    const files = kernelFiles(folder, new VirtualClock(utcMs(0)));
    expect(await files.write('trigger\n', 'there')).toBe(true);
    expect(await files.read('there')).toBe('trigger\n');
  });

  it('waits ten seconds for a file that hangs, and does not ask it again meanwhile', async () => {
    // Reading a pipe that nobody writes to hangs as a stuck bus does.
    execFileSync('mkfifo', [join(folder, 'stuck')]);
    const clock = new VirtualClock(utcMs(0));
    const files = kernelFiles(folder, clock);
    let answer: string | null | undefined;
    void files.read('stuck').then((text) => {
      answer = text;
    });
    await clock.run(9_999);
    expect(answer).toBeUndefined();
    await clock.run(10_000);
    await clock.settle();
    expect(answer).toBeNull();
    expect(await files.read('stuck')).toBeNull();
    // Set free, it is read again.
    writeFileSync(join(folder, 'stuck'), 'late\n');
    rmSync(join(folder, 'stuck'));
    writeFileSync(join(folder, 'stuck'), 'new\n');
    for (let tries = 0; tries < 100 && (await files.read('stuck')) === null; tries += 1)
      await new Promise((resolve) => setTimeout(resolve, 10));
    expect(await files.read('stuck')).toBe('new\n');
  });
});
