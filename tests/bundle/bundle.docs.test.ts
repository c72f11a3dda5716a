import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Column, Table } from '../../src/bundle/column.js';
import { TABLES, TEXTS } from '../../src/bundle/tables.js';
import { writeBundle } from '../../src/bundle/write.js';
import { visitResult } from '../../src/visit/result.js';
import { foldSeason } from '../../src/visit/season.js';
import { run } from '../cli/run.js';
import { whyNot } from '../tools/debianPrograms.js';
import { allInNewFolder } from '../tools/newFolder.js';
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
allInNewFolder(async (fresh) => {
  folder = fresh;
  bundle = join(folder, 'bundle');
  const store = morningStore(join(folder, 'season.sqlite'));
  await writeBundle(store, writing(bundle));
  const season = foldSeason(store.facts());
  efficacy = visitResult(store, season, [...season.visits.values()], writing(bundle).now).efficacy.yards[0]!
    .efficacy!;
  store.close();
});

/** The example of a language on the page, run in the bundle. */
function answerOf(
  language: string,
  program: string,
  options: readonly string[] = [],
  { cwd, yard }: { readonly cwd: string; readonly yard: string } = { cwd: bundle, yard: 'alder-07' },
): number {
  const [, code] = new RegExp(`^\`\`\`${language}\n([\\s\\S]*?)^\`\`\``, 'm').exec(PAGE)!;
  expect(code!.trim().split('\n')).toHaveLength(3);
  const { status, stdout, stderr } = spawnSync(program, [...options, '-'], {
    input: code!.replaceAll('alder-07', yard),
    cwd,
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
    expect(answerOf('r', 'Rscript', ['--vanilla'])).toBeCloseTo(efficacy, 12);
    // By hand: cups a1 and a2 (overruled to valid) with 8 + 8 of 22, a4 with 10 of 13.
    expect(efficacy).toBeCloseTo(26 / 35, 12);
  });

  describe('of names that look like numbers or dates', () => {
    const yard = '1E3';
    let cwd: string;
    beforeAll(async () => {
      const at = ['--at', '2026-05-12T09:00:00Z', '--store', join(folder, 'numbers.sqlite')];
      cwd = join(folder, 'numbers');
      const cups: [string, string, string][] = [
        ['1-2', '007', '7'],
        ['3-4', 'NA', '6'],
      ];
      const lines = [
        ['visit', 'open', '5-6', '--yard', yard, '--zone', 'Etc/UTC', '--lot', '219E0145', ...at],
        ...cups.flatMap(([cup, colony, tray]) => [
          ['cup', 'load', cup, '--colony', colony, ...at],
          ['cup', 'turn', cup, ...at, '--at', '2026-05-12T12:00:00Z'],
          [
            'cup',
            'count',
            cup,
            '--tray',
            tray,
            '--wash',
            '3',
            '--bees',
            '300',
            ...at,
            '--at',
            '2026-05-12T13:00:00Z',
          ],
          // No probe read them: what counts here is what is read back.
          ['cup', 'overrule', cup, 'valid', '--why', 'a test', ...at, '--at', '2026-05-12T14:00:00Z'],
        ]),
        ['bundle', 'write', '--visit', '5-6', '--out', cwd, '--store', at[3]!],
      ];
      for (const line of lines) expect({ line, ...(await run(line)) }).toMatchObject({ line, code: 0 });
    });
    const rows = (read: string) => {
      const code = `d <- ${read}; cat(paste(d$yard, d$visit, d$cup, d$colony, d$lot, sep = "|"), sep = "\n")`;
      const { stdout, stderr } = spawnSync('Rscript', ['--vanilla', '-e', code], { cwd, encoding: 'utf8' });
      expect(stderr).toBe('');
      return stdout.trim().split('\n');
    };
    const NAMES = ['1E3|5-6|1-2|007|219E0145', '1E3|5-6|3-4|NA|219E0145'];

    it.skipIf(whyNot('Rscript') !== null)(
      'gives them as they are in R, in the way that the page tells',
      () => {
        const [read] = /read\.csv\(.*\)/.exec(PAGE)!;
        expect(rows(read.replace('counts.csv', 'cups.csv'))).toEqual(NAMES);
        // By hand: 7 of 10 and 6 of 9. Where the yard is read as 1000, none has this name.
        expect(answerOf('r', 'Rscript', ['--vanilla'], { cwd, yard })).toBeCloseTo(13 / 19, 12);
      },
    );

    it.skipIf(whyNot('Rscript') !== null)('would lose them where R guesses (negative control)', () => {
      expect(rows('read.csv("cups.csv")')[0]).toMatch(/^1000\|5-6\|1-2\|7\|2\.19e\+147$/);
    });

    it.skipIf(whyNot('python3') !== null)('gives them as they are in Python', () => {
      expect(answerOf('python', 'python3', [], { cwd, yard })).toBeCloseTo(13 / 19, 12);
    });

    it('gives them as they are in DuckDB, in the way that the page tells', async () => {
      const [read] = /read_csv\('counts\.csv', all_varchar = true\)/.exec(PAGE)!;
      const connection = await (await DuckDBInstance.create(':memory:')).connect();
      const ask = async (table: string) =>
        (await connection.runAndReadAll(`SELECT yard, cup, colony FROM ${table} ORDER BY cup`)).getRowsJson();
      const at = (text: string) => text.replace('counts.csv', join(cwd, 'counts.csv'));
      expect(await ask(at(read))).toEqual([
        ['1E3', '1-2', '007'],
        ['1E3', '3-4', 'NA'],
      ]);
      // Negative control: where it guesses, the yard is a number.
      expect((await ask(at("read_csv('counts.csv')")))[0]![0]).toBe(1000);
      connection.closeSync();
    });

    it('tells them as text in the schema, and how to read them in its README', () => {
      const { resources } = JSON.parse(readFileSync(join(cwd, 'datapackage.json'), 'utf8'));
      const { fields } = resources.find(({ path }: { path: string }) => path === 'cups.csv').schema;
      for (const name of ['yard', 'visit', 'cup', 'colony', 'lot'])
        expect(fields.find((field: { name: string }) => field.name === name).type).toBe('string');
      expect(readFileSync(join(cwd, 'README.md'), 'utf8')).toMatch(
        /read\.csv\(FILE, colClasses = "character",\s+na\.strings = ""\)/,
      );
    });
  });
});
