import { chmodSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type CsvColumns, readCsv } from '../../../src/cli/csv/csv.js';
import { allInNewFolder } from '../../tools/newFolder.js';
import { refusalOf as sentenceOf } from '../../units/refusalOf.js';

const COLUMNS: CsvColumns = { required: ['cup', 'tray'], optional: ['note'] };

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

async function rowsOf(content: string | Uint8Array): Promise<string[]> {
  const path = join(folder, 'counts.csv');
  writeFileSync(path, content);
  const rows: string[] = [];
  for await (const row of readCsv(path, COLUMNS))
    rows.push(`${row.line}:${row.get('cup')}|${row.get('tray')}|${row.get('note')}`);
  return rows;
}

const refusalOf = (content: string | Uint8Array): Promise<string> => sentenceOf(rowsOf(content), folder);

describe('readCsv()', () => {
  it('reads columns in any order and gives an absent optional column as empty', async () => {
    expect(await rowsOf('tray,cup\n3,A\n,B\n')).toEqual(['2:A|3|', '3:B||']);
  });

  it('accepts a byte order mark, CR LF, blank lines, no final line end, and quotes per RFC 4180', async () => {
    expect(await rowsOf('\ufeffcup,tray,note\r\n\r\nA,1,"x, ""y"""\r\nB,2,')).toEqual([
      '3:A|1|x, "y"',
      '4:B|2|',
    ]);
    expect(await rowsOf('cup,tray\rA,1\rB,2\r')).toEqual(['2:A|1|', '3:B|2|']);
  });

  it('names the line on which a row begins, also after cells of several lines', async () => {
    expect(await rowsOf('cup,tray,note\r\nA,1,"x\r\n\r\ny"\r\nB,2,"p\nq"\r\nC,3,\r\n')).toEqual([
      '2:A|1|x\r\n\r\ny',
      '5:B|2|p\nq',
      '7:C|3|',
    ]);
  });

  it('lets the caller refuse a cell with file, line and column', async () => {
    const path = join(folder, 'cell.csv');
    writeFileSync(path, 'cup,tray\nA,x\n');
    for await (const row of readCsv(path, COLUMNS))
      expect(row.refuse('tray', '"x" is not a count; write a whole number').message).toBe(
        `${path}, line 2, column tray: "x" is not a count; write a whole number`,
      );
  });

  it.each([
    [
      'an unknown column',
      'cup,tray,Note\nA,1,\n',
      /line 1: unknown column "Note"; .*cup,tray and, if wanted, note/,
    ],
    ['a missing column', 'cup,note\nA,1\n', /line 1: column tray is missing/],
    ['a column there twice', 'cup,tray,cup\nA,1,B\n', /line 1: column cup is there twice/],
    ['semicolons', 'cup;tray\nA;1\n', /line 1: unknown column "cup;tray".*separate the columns by commas/],
    ['a short row', 'cup,tray\nA,1\nB\n', /line 3: 1 cells where the header has 2/],
    ['a long row', 'cup,tray\nA,1,5\n', /line 2: 3 cells where the header has 2/],
    ['an open quote', 'cup,tray\n"A,1\nB,2\n', /a quote .* is never closed/],
    ['a quote inside a cell', 'cup,tray\nA,1"2\n', /line 2: a quote is out of place/],
    ['text after a quote', 'cup,tray\nA,"1"2\n', /line 2: a quote is out of place/],
    ['an endless row', `cup,tray\nA,"${'x'.repeat(70_000)}`, /a quote .* is never closed/],
    ['an empty file', '', /line 1: the file is empty.*cup,tray/],
  ])('refuses %s', async (_, content, message) => expect(await refusalOf(content)).toMatch(message));

  it('refuses text that is not UTF-8', async () => {
    const latin1 = Buffer.from('cup,tray,note\nA,1,s\xfcd\n', 'latin1');
    expect(await refusalOf(latin1)).toMatch(/line 2: the text is not UTF-8; save the file as CSV UTF-8/);
  });

  it('refuses a file that is not there, a folder, and a file that may not be read', async () => {
    const read = async (path: string) => {
      for await (const _ of readCsv(path, COLUMNS));
    };
    await expect(read(join(folder, 'absent.csv'))).rejects.toThrow(/absent\.csv: there is no such file/);
    await expect(read(folder)).rejects.toThrow(/this is a folder; name a CSV file/);
    if (process.getuid?.() === 0) return;
    const closed = join(folder, 'closed.csv');
    writeFileSync(closed, 'cup,tray\n');
    chmodSync(closed, 0);
    await expect(read(closed)).rejects.toThrow(/may not be read/);
  });

  it('streams: ten thousand rows are read with the right lines, and reading may stop early', async () => {
    const path = join(folder, 'long.csv');
    writeFileSync(path, `cup,tray\n${'A,1\n'.repeat(10_000)}`);
    let count = 0;
    let last = 0;
    for await (const row of readCsv(path, COLUMNS)) {
      count += 1;
      last = row.line;
    }
    expect([count, last]).toEqual([10_000, 10_001]);
    for await (const row of readCsv(path, COLUMNS)) if (row.line === 5) break;
  });
});
