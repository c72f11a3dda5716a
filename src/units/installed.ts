import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Where a file of this installation lies, named from its root: the built program lies deeper than its source. */
export function installedPath(name: string): string {
  for (let folder = dirname(fileURLToPath(import.meta.url)); ; folder = dirname(folder)) {
    const path = join(folder, name);
    if (existsSync(path)) return path;
    if (folder === dirname(folder)) throw new Error(`${name} is missing from this installation`);
  }
}

/** The version in the package this program was installed from. */
export const installedVersion = (): string =>
  (JSON.parse(readFileSync(installedPath('package.json'), 'utf8')) as { version: string }).version;
