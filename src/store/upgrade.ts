import { existsSync, renameSync, rmSync } from 'node:fs';
import { Refusal } from '../units/refusal.js';
import { makeEmpty } from './emptyFile.js';
import { SCHEMA_VERSION, upgradeSchema } from './schema.js';
import type { Sqlite } from './sqlite.js';

/**
 * Brings a store of an earlier version up to date, after a copy of it was put beside it. Nothing it holds is lost.
 *
 * @param tell told in one sentence when it was
 */
export function upgrade(path: string, sqlite: Sqlite, tell: (sentence: string) => void): void {
  const version = () => sqlite.get<{ user_version: number }>('PRAGMA user_version')!.user_version;
  const from = version();
  if (from >= SCHEMA_VERSION) return;
  keepCopy(path, sqlite, copyBefore(path, from));
  sqlite.immediate(() => {
    // Another process may have been quicker.
    if (version() >= SCHEMA_VERSION) return;
    upgradeSchema(sqlite, from);
    sqlite.exec(`PRAGMA user_version = ${SCHEMA_VERSION}`);
  });
  tell(
    `${path} was of store version ${from} and is of version ${SCHEMA_VERSION} now; as it was, it lies in ${copyBefore(path, from)}.`,
  );
}

/** Where the copy of a store is kept that a newer stillwarm brought up to date. */
export const copyBefore = (path: string, version: number): string => `${path}.version-${version}`;

/** Puts a whole copy of the store beside it: under its name once it is complete, and only once. */
function keepCopy(path: string, sqlite: Sqlite, copy: string): void {
  if (existsSync(copy)) return;
  const unfinished = `${copy}.${process.pid}`;
  try {
    rmSync(unfinished, { force: true });
    makeEmpty(unfinished);
    sqlite.run('VACUUM INTO ?', unfinished);
    renameSync(unfinished, copy);
  } catch (error) {
    try {
      rmSync(unfinished, { force: true });
    } catch {
      // What stopped the copy may stop this, too.
    }
    throw new Refusal(
      `${path} is of an earlier version and was left as it is, because no copy of it could be put beside it (${(error as Error).message}); make room there.`,
      { cause: error },
    );
  }
}
