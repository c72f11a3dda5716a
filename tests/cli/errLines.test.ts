import { closeSync, openSync, readFileSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { linesToFile } from '../../src/cli/errLines.js';

const path = join(tmpdir(), `stillwarm-err-${process.pid}`);
let file: number;
beforeEach(() => {
  file = openSync(path, 'w+');
});
afterEach(() => {
  closeSync(file);
  rmSync(path);
});

describe('linesToFile()', () => {
  it('writes lines as they come', () => {
    const say = linesToFile(file);
    say('one\n');
    say('24 °C\n');
    expect(readFileSync(path, 'utf8')).toBe('one\n24 °C\n');
  });

  it('keeps what a full disk does not take, up to a limit, and throws nothing', () => {
    const full = openSync('/dev/full', 'w');
    expect(() => writeSync(full, 'x')).toThrow('ENOSPC');
    const say = linesToFile(full);
    for (let line = 1; line <= 3000; line += 1) say(`line ${line}\n`);
    // The same number, now of a file that takes it.
    closeSync(full);
    const again = openSync(path, 'w');
    expect(again).toBe(full);
    say('there is room\n');
    const lines = readFileSync(path, 'utf8').split('\n');
    expect(lines.slice(-3)).toEqual(['line 3000', 'there is room', '']);
    expect(lines.join('\n').length).toBeLessThanOrEqual(10_100);
    closeSync(again);
  });
});
