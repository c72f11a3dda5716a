import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const BUILD = fileURLToPath(new URL('../../.build', import.meta.url));
const SCANS_A_MINUTE = 6;
/** A running logger for so many minutes. */
const SOURCES = {
  'without memory': (minutes: number) => [
    fileURLToPath(new URL('syncs/withoutMemory.mjs', import.meta.url)),
    String(minutes * SCANS_A_MINUTE),
  ],
  'with a log': (minutes: number) => [
    fileURLToPath(new URL('syncs/withLog.mjs', import.meta.url)),
    '0',
    String(minutes),
  ],
};
type Source = keyof typeof SOURCES;
/** A new store, its end, the boot and the first facts are in both. */
const [SETTLED, END] = [15, 45];

let folder: string;
eachInNewFolder((fresh) => {
  folder = fresh;
});

/** How often a logger makes the disk sync in so many minutes. */
function syncs(source: Source, minutes: number, how: 'as it is' | 'loudly'): number {
  const [trace, store] = [join(folder, `trace-${minutes}`), join(folder, `store-${minutes}`)];
  const [program, ...args] = SOURCES[source](minutes);
  // Only these calls stop the program: an eighth of the time.
  const traced = ['--seccomp-bpf', '-f', '-qq', '-e', 'trace=fsync,fdatasync', '-o', trace, process.execPath];
  execFileSync('strace', [...traced, program!, BUILD, store, ...args, how], { stdio: 'ignore' });
  return readFileSync(trace, 'latin1')
    .split('\n')
    .filter((line) => /f(data)?sync\(/.test(line)).length;
}
const each = (source: Source, how: 'as it is' | 'loudly') =>
  (syncs(source, END, how) - syncs(source, SETTLED, how)) / ((END - SETTLED) * SCANS_A_MINUTE);

describe.skipIf(whyNot('strace'))(`a running logger ${whyNot('strace') ?? ''}`, () => {
  it('syncs the disk once a scan, and a few times more at a checkpoint', () => {
    const count = each('without memory', 'as it is');
    expect(count).toBeGreaterThanOrEqual(1);
    expect(count).toBeLessThan(1.04);
  });

  it('would do so six times if its signs of life were synced (negative control)', () => {
    expect(each('without memory', 'loudly')).toBeGreaterThan(5);
  });

  it('does so no more often for a board that keeps a log, of which a page comes every six scans or so', () => {
    const count = each('with a log', 'as it is');
    expect(count).toBeGreaterThanOrEqual(1);
    expect(count).toBeLessThan(1.04);
  });

  it('would do so more often if each page were synced (negative control)', () => {
    expect(each('with a log', 'loudly')).toBeGreaterThan(1.15);
  });
});
