import { accessSync, constants, readFileSync, realpathSync, statfsSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import { Refusal } from '../units/refusal.js';
import { keptEqualFolder } from './keptEqual.js';

/** File systems on which locks are another computer's word, by their number (Linux, statfs(2)). */
const SHARED: Readonly<Record<number, string>> = {
  26985: 'NFS',
  20859: 'SMB',
  4283649346: 'SMB',
  4266872130: 'SMB',
  16914839: 'a shared folder of a virtual machine',
};
/** Some of these are drives of this computer, some are folders that a program fetches from elsewhere. */
const RUN_BY_A_PROGRAM: Readonly<Record<number, string>> = {
  1702057286: 'a file system run by a program',
};

/** What is wrong with a file system for a store, in a few words; null when nothing is known to be. */
export const unsafeFileSystem = (type: number): string | null =>
  SHARED[type] ?? RUN_BY_A_PROGRAM[type] ?? null;

const typeOf = (folder: string): number | null => {
  try {
    return statfsSync(folder).type;
  } catch {
    // The folder is missing, or this system does not tell: whoever opens the file finds out.
    return null;
  }
};

/**
 * Refuses to write a store where two computers may take each other's locks for none, or where a program puts another computer's copy
 * in its place: either damages it.
 */
export function refuseSharedFolder(path: string, look = typeOf): void {
  const equal = keptEqualFolder(path);
  if (equal !== null)
    throw new Refusal(
      `${path} lies in ${equal}, a folder that a program keeps equal on several computers, where a store gets damaged; keep it in another folder, and put copies there with backup.`,
    );
  const shared = SHARED[look(dirname(path)) ?? 0];
  if (shared !== undefined)
    throw new Refusal(
      `${path} lies on ${shared}, where a store gets damaged; keep it on a disk of this computer, and copy it with backup.`,
    );
}

/** Size and time of the last write of a file, to compare with another time; null when it is missing or cannot be looked at. */
export function signOfChange(path: string): string | null {
  try {
    const { size, mtimeMs } = statSync(path);
    return `${size} ${mtimeMs}`;
  } catch {
    return null;
  }
}

/** With less than this nothing grows any more (j). */
const NO_ROOM_BYTES = 1_000_000;

/** Why nothing can be written where a file lies, as far as the disk itself shows; null when it does not. */
export function diskHindrance(path: string): 'full' | 'read-only' | null {
  const folder = dirname(path);
  try {
    const { bavail, bsize } = statfsSync(folder);
    if (bavail * bsize < NO_ROOM_BYTES) return 'full';
    accessSync(folder, constants.W_OK);
    if (wasStopped(folder)) return 'read-only';
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EROFS') return 'read-only';
  }
  return null;
}

/** Linux from 6.15 on: a disk with errors takes no more writes, and still passes for writable but for this word (proc(5), mountinfo). */
function wasStopped(folder: string): boolean {
  const { dev } = statSync(folder);
  // makedev(3)
  const [major, minor] = [(dev >> 8) & 0xfff, (dev & 0xff) | ((dev >> 12) & 0xfff00)];
  return mounts()
    .split('\n')
    .some((line) => line.split(' ')[2] === `${major}:${minor}` && /[ ,]emergency_ro(,|$)/.test(line));
}

/**
 * Whether the disk where a file lies is mounted read-only for this process and takes writes all the same, as far as Linux tells. In a
 * service no waiting helps then: it has mounts of its own, and what was read-only when it started stays so there when the disk is mended.
 */
export function isReadOnlyHere(path: string): boolean {
  try {
    return isOnlyHere(mounts(), realpathSync(dirname(path)));
  } catch {
    return false;
  }
}

/** @param mountinfo as in proc(5): the options of the mount in the sixth field, those of the file system in the last */
export function isOnlyHere(mountinfo: string, folder: string): boolean {
  const around = mountinfo
    .split('\n')
    .map((line) => line.split(' '))
    .filter(([, , , , at]) => at !== undefined && isWithin(folder, at));
  const longest = Math.max(...around.map(([, , , , at]) => at!.length));
  // The last one lies on top of those before it.
  const top = around.findLast(([, , , , at]) => at!.length === longest);
  const has = (options: string | undefined, option: string) => options?.split(',').includes(option) ?? false;
  return has(top?.[5], 'ro') && has(top?.at(-1), 'rw');
}

/** Blanks and the like stand in a mount point as octal numbers. */
function isWithin(folder: string, mountPoint: string): boolean {
  const at = mountPoint.replace(/\\([0-7]{3})/g, (_, octal) =>
    String.fromCharCode(Number.parseInt(octal, 8)),
  );
  return at === '/' || folder === at || folder.startsWith(`${at}/`);
}

function mounts(): string {
  try {
    return readFileSync('/proc/self/mountinfo', 'utf8');
  } catch {
    return '';
  }
}
