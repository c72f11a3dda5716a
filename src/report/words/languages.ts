import { ENGLISH } from './english.js';
import { SPANISH } from './spanish.js';
import type { Words } from './words.js';

/** The languages that pages for beekeepers are written in. */
export const LANGUAGES = { en: ENGLISH, es: SPANISH } as const satisfies Record<string, Words>;
export type Language = keyof typeof LANGUAGES;
