import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { whyNot } from '../tools/debianPrograms.js';

/** Makes a disk and mounts it at a folder that is there; false where that is not possible. */
export type MakeDisk = (at: string) => boolean;

/** A disk in memory that holds so much. */
export const memoryDisk =
  (bytes: number): MakeDisk =>
  (at) =>
    spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${bytes}`, 'tmpfs', at]).status === 0;

/** What keeps a board on a cable, or such a disk, from being had here; where `CI` is true all must be. */
export function whyNoDisk(make: MakeDisk): string | null {
  const why = whyNot('socat');
  if (why !== null || process.env['CI'] === 'true') return why;
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-mount-'));
  const at = join(folder, 'disk');
  mkdirSync(at);
  const isMade = make(at);
  if (isMade) spawnSync('umount', [at]);
  rmSync(folder, { recursive: true });
  return isMade ? null : 'needs to mount disks (root)';
}
