import { readFileSync } from 'node:fs';
import { installedPath } from '../../units/installed.js';

/** Where the committed firmware image (Intel HEX) lies, beside this program wherever it is installed. */
export const firmwareImagePath = (): string => installedPath('hardware/firmware/image/stillwarm.hex');

/** The text of that image. */
export const firmwareImage = (): string => readFileSync(firmwareImagePath(), 'latin1');
