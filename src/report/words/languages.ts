import { ENGLISH } from './english.js';
import type { Words } from './words.js';

/** The languages that pages for beekeepers are written in. */
export const LANGUAGES = { en: ENGLISH } as const satisfies Record<string, Words>;
export type Language = keyof typeof LANGUAGES;
