import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { PLAN_COLUMNS } from '../../src/cli/csv/planCsv.js';
import { installedPath } from '../../src/units/installed.js';
import { run } from '../cli/run.js';

const PAGE = readFileSync(installedPath('docs/plan.md'), 'utf8');

/** A command on the page and what the page says that it prints. */
const examples = (page: string) =>
  [...page.matchAll(/<!-- (plan \w+) -->\n```\n(.*?)\n```\n```text\n(.*?)\n```/gs)].map(
    ([, name = '', line = '', text = '']) => ({ name, line, text }),
  );

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-plan-'));
  writeFileSync(join(folder, 'plan.csv'), /```csv\n(.*?)```/s.exec(PAGE)![1]!);
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Words of a command line; the plan on the page is a file. */
const wordsOf = (line: string): string[] =>
  line.split(' ').map((word) => (word === 'plan.csv' ? join(folder, word) : word));

/** The columns in a table of the page. */
const columnsTold = (page: string): string[] => {
  const rows = page.slice(page.indexOf('| column |')).split('\n\n')[0]!.split('\n').slice(2);
  return rows.flatMap((row) => [...row.split('|')[1]!.matchAll(/`([^`]+)`/g)].map(([, name]) => name!));
};

describe('docs/plan.md', () => {
  it('tells every column of a plan', () => {
    const all = [...PLAN_COLUMNS.required, ...PLAN_COLUMNS.optional].sort();
    expect(columnsTold(PAGE).sort()).toEqual(all);
    expect(columnsTold(PAGE.replace('`arrive` |', '')).sort()).not.toEqual(all);
  });

  it.each(examples(PAGE))('shows what `$name` prints', async ({ line, text }) => {
    const { code, out } = await run(wordsOf(line));
    expect(code).toBe(0);
    expect(out.trimEnd()).toBe(text);
  });

  it('shows something, and would be found out if a figure were another (negative control)', async () => {
    expect(examples(PAGE).length).toBe(2);
    const { line, text } = examples(PAGE)[0]!;
    const { out } = await run([...line.split(' '), '--lost', '0.11']);
    expect(out.trimEnd()).not.toBe(text);
  });
});
