import { closeSync, openSync } from 'node:fs';

/**
 * Makes an empty file for SQLite to fill, unless there is one. SQLite would keep it from the group whatever the umask says
 * (0644); so the umask decides, also for the two files beside it, which take its mode. Nobody in this process may have that
 * file open: closing it would drop SQLite's locks.
 */
export function makeEmpty(path: string): void {
  try {
    closeSync(openSync(path, 'wx', 0o666));
  } catch {
    // Somebody was quicker; whatever else is wrong, SQLite meets it, too, and it is put in words there.
  }
}
