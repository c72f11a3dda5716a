import { closeSync, fsyncSync, openSync } from 'node:fs';

/** Has a file, or the names in a folder, on the disk when it returns. */
export function syncPath(path: string): void {
  const file = openSync(path, 'r');
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}
