import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const IMAGE = 'hardware/firmware/image/stillwarm.hex';

/** The text of the committed firmware image (Intel HEX), from beside this program wherever it is installed. */
export const firmwareImage = (): string => readFileSync(firmwareImagePath(), 'latin1');

/** Where that image lies. */
export function firmwareImagePath(): string {
  for (let folder = dirname(fileURLToPath(import.meta.url)); ; folder = dirname(folder)) {
    const path = join(folder, IMAGE);
    if (existsSync(path)) return path;
    if (folder === dirname(folder)) throw new Error(`${IMAGE} is missing from this installation`);
  }
}
