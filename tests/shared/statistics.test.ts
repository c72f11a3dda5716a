import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type EfficacyReport, type SeasonYard, seasonReport } from '../../shared/index.js';
import { runEfficacy } from '../../src/cli/judging/efficacy.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { numbersIn } from './reference.js';

/** The worked examples of docs/statistics.md are run, and every figure in its tables recomputed. */
const PAGE = readFileSync(new URL('../../docs/statistics.md', import.meta.url), 'utf8');

const blocks = (language: string): string[] =>
  [...PAGE.matchAll(new RegExp(`\`\`\`${language}\\n([^\`]*)\`\`\``, 'g'))].map((match) => match[1] ?? '');

const figures = [...PAGE.matchAll(/^\| `([^`]+)` \| ([^|]+) \|$/gm)].map((match) => ({
  path: match[1] ?? '',
  shown: match[2] ?? '',
}));

/** Four yards as the page has them; the first two are yards A and B of the real cups. */
const FOUR_YARDS: SeasonYard[] = [
  [61, 119],
  [207, 333],
  [59, 70],
  [20, 24],
].map(([fallen = 0, mites = 0], i) => ({
  yard: `Y${i}`,
  arm: null,
  verdict: 'undecided',
  efficacy: fallen / mites,
  effectiveMites: mites,
  interval: [0, 1],
}));

/**
 * Follows a path like `control.fall` from the yard's entry, `cups.0.wilson` from the list of cups,
 * `armDifferences.0.interval` from the second example, `season.cochranQ` from the third.
 */
function valueAt(examples: Examples, path: string): unknown {
  const [start] = path.split('.');
  let value: unknown = examples.elm.yards[0];
  if (start === 'cups') value = examples.elm;
  if (start === 'armDifferences') value = examples.oak;
  if (start === 'season') value = { season: seasonReport(FOUR_YARDS)[0] };
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

interface Examples {
  readonly elm: EfficacyReport;
  readonly oak: EfficacyReport;
}

let words = '';
let examples: Examples;
allInNewFolder(async (folder) => {
  const run = async (csv: string | undefined, json: boolean): Promise<string> => {
    const counts = join(folder, 'counts.csv');
    writeFileSync(counts, csv ?? '');
    let printed = '';
    const out = (text: string): void => {
      printed += text;
    };
    await runEfficacy({ counts, json, recovery: '190/10' }, { out, err: () => {} });
    return printed;
  };
  const [elm, oak] = blocks('csv');
  words = await run(elm, false);
  examples = { elm: JSON.parse(await run(elm, true)), oak: JSON.parse(await run(oak, true)) };
});

describe('the worked examples of docs/statistics.md', () => {
  it('prints what the page shows', () => {
    expect(words).toBe(blocks('text')[0]);
  });

  it('has tables with every figure', () => {
    expect(figures.length).toBeGreaterThan(35);
  });

  it.each(figures)('$path is $shown', ({ path, shown }) => {
    expect(cellReads(valueAt(examples, path), shown)).toBe(true);
  });

  it('would notice a figure that is off by one in its last place', () => {
    expect(cellReads(valueAt(examples, 'interval'), '0.288 to 0.787')).toBe(true);
    expect(cellReads(valueAt(examples, 'interval'), '0.289 to 0.787')).toBe(false);
    expect(cellReads(valueAt(examples, 'interval'), '0.288')).toBe(false);
  });
});
