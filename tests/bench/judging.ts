import type { Row } from './row.js';

export const rows: readonly Row[] = [];
