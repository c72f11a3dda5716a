import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { LONG } from './longestFirst.js';

it('the long files are there', () => {
  const gone = LONG.filter((file) => !existsSync(fileURLToPath(new URL(`../../${file}`, import.meta.url))));
  expect(gone).toEqual([]);
});
