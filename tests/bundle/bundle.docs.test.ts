import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Column, Table } from '../../src/bundle/column.js';
import { TABLES, TEXTS } from '../../src/bundle/tables.js';
import { writeBundle } from '../../src/bundle/write.js';
import { visitResult } from '../../src/visit/result.js';
import { foldSeason } from '../../src/visit/season.js';
import { whyNot } from '../tools/debianPrograms.js';
import { morningStore, writing } from './invented.js';

const PAGE = readFileSync('docs/bundle.md', 'utf8');
const KINDS: Readonly<Record<Column['kind'], string>> = {
  text: 'text',
  id: 'id',
  integer: 'whole number',
  number: 'number',
  instant: 'time',
  boolean: 'true or false',
};

/** The part of the page on a table, as it must be. */
function section({ name, what, key, columns }: Table): string {
  const rows = columns.map(
    ({ name: column, kind, required, what: is, oneOf }) =>
      `| \`${column}\` | ${KINDS[kind]}${required ? '' : ', may be empty'} | ${is.replaceAll('|', '\\|')}${oneOf === undefined ? '' : `: ${oneOf.map((each) => `\`${each}\``).join(', ')}`} |`,
  );
  return `### ${name}.csv\n\n${what} Key: ${key.map((each) => `\`${each}\``).join(', ')}.\n\n| column | type | what it is |\n|---|---|---|\n${rows.join('\n')}\n`;
}

let folder: string;
let bundle: string;
let efficacy: number;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-docs-'));
  bundle = join(folder, 'bundle');
  const store = morningStore(join(folder, 'season.sqlite'));
  await writeBundle(store, writing(bundle));
  const season = foldSeason(store.facts());
  efficacy = visitResult(store, season, [...season.visits.values()], writing(bundle).now).efficacy.yards[0]!
    .efficacy!;
  store.close();
});
afterAll(() => rmSync(folder, { recursive: true }));

/** The example of a language on the page, run in the bundle. */
function answerOf(language: string, program: string, ...options: string[]): number {
  const [, code] = new RegExp(`^\`\`\`${language}\n([\\s\\S]*?)^\`\`\``, 'm').exec(PAGE)!;
  expect(code!.trim().split('\n')).toHaveLength(3);
  const { status, stdout, stderr } = spawnSync(program, [...options, '-'], {
    input: code,
    cwd: bundle,
    encoding: 'utf8',
  });
  expect({ status, stderr }).toMatchObject({ status: 0 });
  return Number(stdout.trim().split(/\s+/).at(-1));
}

describe('docs/bundle.md', () => {
  it.each([...TABLES, TEXTS].map((table) => [table.name, table] as const))(
    'tells every column of %s as the descriptor does',
    (_, table) => {
      expect(PAGE).toContain(section(table));
    },
  );

  it('would be found out if it told one otherwise (negative control)', () => {
    const table = TABLES[0]!;
    const [first, ...rest] = table.columns;
    expect(PAGE).not.toContain(
      section({ ...table, columns: [{ ...first!, what: 'something else' }, ...rest] }),
    );
  });

  it.skipIf(whyNot('python3') !== null)('gives the efficacy of a yard in Python', () => {
    expect(answerOf('python', 'python3')).toBeCloseTo(efficacy, 12);
  });

  it.skipIf(whyNot('Rscript') !== null)('gives the efficacy of a yard in R', () => {
    expect(answerOf('r', 'Rscript', '--vanilla')).toBeCloseTo(efficacy, 12);
    // By hand: cups a1 and a2 (overruled to valid) with 8 + 8 of 22, a4 with 10 of 13.
    expect(efficacy).toBeCloseTo(26 / 35, 12);
  });
});
