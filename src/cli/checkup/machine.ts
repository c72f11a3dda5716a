import { spawnSync } from 'node:child_process';
import {
  accessSync,
  constants,
  readdirSync,
  readFileSync,
  readlinkSync,
  statfsSync,
  statSync,
} from 'node:fs';
import { join } from 'node:path';

/** What the checks ask of a computer. Paths are absolute; a machine in a test has them under a folder. */
export interface Machine {
  readonly nodeVersion: string;
  readonly platform: string;
  /** The text of a file, null when it cannot be read. */
  text(path: string): string | null;
  /** Where a link leads, null when that cannot be read. */
  link(path: string): string | null;
  /** Whether two paths lead to one file, through whatever links; false when one of them cannot be looked at. */
  isSame(path: string, other: string): boolean;
  /** The names in a folder, none when it cannot be read. */
  names(path: string): string[];
  /** Whether this process may read and write a file. */
  isOpen(path: string): boolean;
  /** The group that a file belongs to, null when unknown. */
  groupOf(path: string): number | null;
  /** Free bytes and the kind of the file system that holds a path, null when unknown. */
  fileSystem(path: string): { readonly freeBytes: number; readonly type: number } | null;
  /** What a program prints, null when it is not there or fails. */
  says(program: string, ...args: string[]): string | null;
}

/** This computer; `root` is put before each path. */
export function machineAt(root: string): Machine {
  const at = (path: string) => join(root, path);
  const orNull = <T>(task: () => T): T | null => {
    try {
      return task();
    } catch {
      return null;
    }
  };
  return {
    nodeVersion: process.versions.node,
    platform: process.platform,
    text: (path) => orNull(() => readFileSync(at(path), 'utf8')),
    link: (path) => orNull(() => readlinkSync(at(path))),
    isSame(path, other) {
      const [one, two] = [path, other].map((each) => orNull(() => statSync(at(each))));
      return one != null && two != null && one.dev === two.dev && one.ino === two.ino;
    },
    names: (path) => orNull(() => readdirSync(at(path))) ?? [],
    isOpen: (path) => orNull(() => accessSync(at(path), constants.R_OK | constants.W_OK)) === undefined,
    groupOf: (path) => orNull(() => statSync(at(path)).gid),
    fileSystem: (path) =>
      orNull(() => {
        const { bavail, bsize, type } = statfsSync(path);
        return { freeBytes: bavail * bsize, type };
      }),
    says(program, ...args) {
      const { status, stdout } = spawnSync(program, args, { encoding: 'utf8', timeout: 5000 });
      return status === 0 ? stdout.trim() : null;
    },
  };
}
