import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach } from 'vitest';

type Begin = (folder: string) => void | Promise<void>;

const made = (): string => mkdtempSync(join(tmpdir(), 'stillwarm-test-'));
const remove = (folder: string): void => rmSync(folder, { recursive: true, force: true });

/** Begins the tests of a file, or of a `describe`, in an empty folder that goes after the last of them. */
export function allInNewFolder(begin: Begin): void {
  let folder: string;
  beforeAll(async () => {
    folder = made();
    await begin(folder);
  });
  afterAll(() => remove(folder));
}

/** Begins each of them in an empty folder of its own, which goes with it. */
export function eachInNewFolder(begin: Begin): void {
  let folder: string;
  beforeEach(async () => {
    folder = made();
    await begin(folder);
  });
  afterEach(() => remove(folder));
}

/** Gives a name, the usual one when none is told, in a folder of its own that is there and empty. */
export function pathsIn(folder: () => string, usual: string): (name?: string) => string {
  let made = 0;
  return (name = usual) => {
    made += 1;
    mkdirSync(join(folder(), String(made)));
    return join(folder(), String(made), name);
  };
}
