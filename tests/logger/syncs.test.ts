import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';

const BUILD = fileURLToPath(new URL('../../.build', import.meta.url));
const LOGGING = fileURLToPath(new URL('syncs/logging.mjs', import.meta.url));
const SCANS = 180;

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-syncs-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

/** How often a logger makes the disk sync in so many scans. */
function syncs(scans: number, how: 'as it is' | 'loudly'): number {
  const [trace, store] = [join(folder, `trace-${scans}`), join(folder, `store-${scans}`)];
  const traced = ['-f', '-qq', '-e', 'trace=fsync,fdatasync', '-o', trace, process.execPath];
  execFileSync('strace', [...traced, LOGGING, BUILD, store, String(scans), how]);
  return readFileSync(trace, 'latin1')
    .split('\n')
    .filter((line) => /f(data)?sync\(/.test(line)).length;
}
/** The second half alone: a new store, its end and the first facts are in both. */
const each = (how: 'as it is' | 'loudly') => (syncs(SCANS, how) - syncs(SCANS / 2, how)) / (SCANS / 2);

describe.skipIf(whyNot('strace'))(`a running logger ${whyNot('strace') ?? ''}`, () => {
  it('syncs the disk once a scan, and twice more at a checkpoint of a thousand pages', () => {
    const count = each('as it is');
    expect(count).toBeGreaterThanOrEqual(1);
    expect(count).toBeLessThan(1.06);
  });

  it('would do so six times if its signs of life were synced (negative control)', () => {
    expect(each('loudly')).toBeGreaterThan(5);
  });
});
