import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runEfficacy } from '../../src/cli/efficacy.js';
import { numbersIn } from './reference.js';

/** The worked example of docs/statistics.md is run, and every figure in its tables recomputed. */
const PAGE = readFileSync(new URL('../../docs/statistics.md', import.meta.url), 'utf8');

const block = (language: string): string =>
  new RegExp(`\`\`\`${language}\\n([^\`]*)\`\`\``).exec(PAGE)?.[1] ?? '';

const figures = [...PAGE.matchAll(/^\| `([^`]+)` \| ([^|]+) \|$/gm)].map((match) => ({
  path: match[1] ?? '',
  shown: match[2] ?? '',
}));

/** Follows a path like `control.fall` from the yard's entry, or `cups.0.wilson` from the list of cups. */
function valueAt(report: { yards: unknown[]; cups: unknown[] }, path: string): unknown {
  let value: unknown = path.startsWith('cups.') ? report : report.yards[0];
  for (const key of path.split('.')) value = (value as Record<string, unknown>)[key];
  return value;
}

/** Whether `value`, rounded to the decimals shown, is what is shown. */
const reads = (value: number, shown: string): boolean =>
  Math.abs(value - Number(shown)) <= 0.5 * 10 ** -(shown.split('.')[1] ?? '').length + 1e-12;

/** Whether a number, or both limits of an interval, read as a table cell shows them. */
function cellReads(value: unknown, shown: string): boolean {
  const limits = shown.split(' to ');
  const numbers = numbersIn(value);
  return numbers.length === limits.length && numbers.every((number, i) => reads(number, limits[i] ?? ''));
}

let folder: string;
let words = '';
let report: { yards: unknown[]; cups: unknown[] };
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-statistics-'));
  const counts = join(folder, 'elm.csv');
  writeFileSync(counts, block('csv'));
  const run = async (json: boolean): Promise<string> => {
    let printed = '';
    const out = (text: string): void => {
      printed += text;
    };
    await runEfficacy({ counts, json, recovery: '190/10' }, { out, err: () => {} });
    return printed;
  };
  words = await run(false);
  report = JSON.parse(await run(true));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('the worked example of docs/statistics.md', () => {
  it('prints what the page shows', () => {
    expect(words).toBe(block('text'));
  });

  it('has tables with every figure of the entry', () => {
    expect(figures.length).toBeGreaterThan(25);
  });

  it.each(figures)('$path is $shown', ({ path, shown }) => {
    expect(cellReads(valueAt(report, path), shown)).toBe(true);
  });

  it('would notice a figure that is off by one in its last place', () => {
    expect(cellReads(valueAt(report, 'interval'), '0.288 to 0.787')).toBe(true);
    expect(cellReads(valueAt(report, 'interval'), '0.289 to 0.787')).toBe(false);
    expect(cellReads(valueAt(report, 'interval'), '0.288')).toBe(false);
  });
});
