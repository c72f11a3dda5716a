import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const PAGE = readFileSync('docs/complaints.md', 'utf8');

/** What is wrong with the rows of a page of complaints: no answer, or shown by nothing that is there. */
function faultsOf(page: string): string[] {
  return page
    .split('\n')
    .filter((line) => line.startsWith('| ') && !line.startsWith('| complaint'))
    .flatMap((row) => {
      const [complaint = '', answer = '', shownBy = ''] = row
        .split(' | ')
        .map((cell) => cell.replace(/^\| | \|$/g, ''));
      const files = [...shownBy.matchAll(/`(tests\/[^`]+)`/g)].map(([, file]) => file!);
      const missing = files.filter((file) => !existsSync(file));
      if (answer.trim() === '' || shownBy.trim() === '') return [`${complaint}: no answer`];
      return missing.map((file) => `${complaint}: ${file} is not there`);
    });
}

describe('docs/complaints.md', () => {
  it('answers each complaint, and names tests that are there', () => {
    expect(PAGE.split('\n').filter((line) => line.startsWith('| ')).length).toBeGreaterThan(30);
    expect(faultsOf(PAGE)).toEqual([]);
  });

  it('is found out when a test is gone or an answer is missing (negative control)', () => {
    expect(faultsOf('| a | b | `tests/gone.test.ts` |')).toEqual(['a: tests/gone.test.ts is not there']);
    expect(faultsOf('| a |  | x |')).toEqual(['a: no answer']);
  });
});
