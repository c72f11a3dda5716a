import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { COLUMNS } from '../../src/export/columns.js';

const PAGE = readFileSync('docs/export.md', 'utf8');
const named = (page: string) =>
  page
    .split('\n')
    .filter((line) => line.startsWith('| `'))
    .flatMap((line) => [...line.split('|')[1]!.matchAll(/`([^`]+)`/g)].map(([, name]) => name!));

describe('docs/export.md', () => {
  it('tells every column of an export, in order', () => {
    expect(named(PAGE)).toEqual(COLUMNS.map(({ name }) => name));
  });

  it('would be found out if it left one out (negative control)', () => {
    expect(named(PAGE.replace('`gap_s`', 'gap'))).not.toEqual(COLUMNS.map(({ name }) => name));
  });
});
