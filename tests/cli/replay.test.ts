import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { entryLine, HEADER } from '../../src/logger/recordingLines.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { run } from './run.js';

let folder: string;
eachInNewFolder((fresh) => {
  folder = fresh;
});

describe('replay', () => {
  it('refuses a damaged recording in one sentence and leaves no store behind', async () => {
    const file = join(folder, 'day.jsonl');
    const store = join(folder, 'x.sqlite');
    writeFileSync(file, `${entryLine(1, HEADER)}\nrubbish\n${entryLine(2, HEADER)}\n`);
    const { code, out, err } = await run(['replay', file, '--store', store]);
    expect([code, out]).toEqual([1, '']);
    expect(err).toBe(
      `${file}, line 2: is not a line of a recording, or is cut off; replay a copy of the recording that is whole.\n`,
    );
    expect(existsSync(store)).toBe(false);
  });

  it('says what it left out', async () => {
    const file = join(folder, 'day.jsonl');
    writeFileSync(file, `${entryLine(1, HEADER)}\n{"n":2,"is":"ev`);
    const { code, out, err } = await run(['replay', file, '--store', join(folder, 'x.sqlite')]);
    expect(code).toBe(0);
    expect(err).toBe(`${file}, line 2: cut off while it was written; left out\n`);
    expect(out).toMatch(/^0 readings in 0 events are in /);
  });
});

describe('log --record', () => {
  it('is a wrong command line with --emulate', async () => {
    const { code, err } = await run(['log', '--emulate', 'warm-day', '--record', join(folder, 'x')]);
    expect(code).toBe(2);
    expect(err).toContain('--record goes with sources');
  });
});
