import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PlainRows } from '../../../src/cli/csv/plainRows.js';
import { readReadingRows } from '../../../src/cli/csv/readingRows.js';
import { allInNewFolder } from '../../tools/newFolder.js';

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

/** The rows of a file, or its refusal. */
async function rowsOf(content: string | Buffer): Promise<unknown> {
  const path = join(folder, 'readings.csv');
  writeFileSync(path, content);
  const rows: unknown[] = [];
  return readReadingRows(path, ['P', 'Q7'], (...row) => rows.push(row) > 0).then(
    () => rows,
    (error: Error) => error.message,
  );
}

/** The same file with a quote in its first row that changes nothing: the general parser reads all of it. */
const quoted = (rows: readonly string[]) => ['"P",2026-05-01T06:00:00Z,1,x', ...rows];
const plain = (rows: readonly string[]) => ['P,2026-05-01T06:00:00Z,1,x', ...rows];
const HEADER = 'probe,time,celsius,flag';

const cells = {
  probe: fc.constantFrom('P', 'Q7', 'P', 'unknown', 'Q 7', ' P', '', ' ', 'P\t', 'Pé', '"P"'),
  time: fc.oneof(
    fc
      .tuple(
        fc.constantFrom('2026-05-01', '2024-02-29', '2026-02-29', '2026-13-01', '0099-01-01', '2026-5-01'),
        fc.constantFrom('T', 'T', 'T', 't', ' '),
        fc.constantFrom('00:00:00', '23:59:59', '24:00:00', '12:60:00', '12:00:60', '1:00:00', '12:34:56'),
        fc.constantFrom('', '', '.', '.5', '.123', '.999', '.0005', '.123456789', '.1234567890', ',5'),
        fc.constantFrom('Z', 'Z', 'Z', 'z', '', '+02:00', '-05:30', '+24:00', '+0200', '+02:60', ' Z'),
      )
      .map((parts) => parts.join('')),
    fc.integer({ min: 0, max: 999 }).map((ms) => `2026-05-01T06:00:00.${String(ms).padStart(3, '0')}Z`),
    fc.constantFrom('', '2026-05-01', 'yesterday'),
  ),
  celsius: fc.oneof(
    fc.double({ min: -30, max: 70, noNaN: true }).map(String),
    fc.integer({ min: -300, max: 700 }).map((tenths) => (tenths / 10).toFixed(3)),
    fc.constantFrom(
      '',
      '-0',
      '-',
      '.',
      '5.',
      '.5',
      '-.5',
      '+5',
      '1e1',
      '1e400',
      '0x10',
      'NaN',
      '1.2.3',
      ' 1',
    ),
    fc.constantFrom('21,5', '9007199254740993', '0.1234567890123456789', '123456789012345', '60F', '"21.5"'),
  ),
  flag: fc.constantFrom('', '', '', 'spike', 'a b', ' ', 'déjà', '"a,b"', '"two\nlines"'),
};
/** Nearly every cell as it should be, so that many rows of a file are read before one is refused. */
const row = fc
  .record(cells)
  .chain((odd) =>
    fc
      .tuple(fc.nat(11), fc.integer({ min: 0, max: 99_999 }))
      .map(([which, number]) =>
        [
          which === 0 ? odd.probe : 'P',
          which === 1 ? odd.time : `2026-05-01T06:${String(number % 60).padStart(2, '0')}:00Z`,
          which === 2 ? odd.celsius : String(number / 1600),
          which === 3 ? odd.flag : '',
        ].join(','),
      ),
  );

describe('readReadingRows()', () => {
  it('gives the same rows and refusals by its two ways of reading', async () => {
    let refused = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(row, { maxLength: 12 }), fc.constantFrom('\n', '\r\n'), async (rows, end) => {
        const file = (lines: readonly string[]) => [HEADER, ...lines].join(end);
        const fast = await rowsOf(file(plain(rows)));
        if (typeof fast === 'string') refused += 1;
        expect(fast).toEqual(await rowsOf(file(quoted(rows))));
      }),
      { numRuns: 400, seed: 1 },
    );
    expect(refused).toBeGreaterThan(50);
    expect(refused).toBeLessThan(350);
  });

  it('would be found out if it read a cell otherwise', async () => {
    const read = (celsius: string) => rowsOf(`${HEADER}\nP,2026-05-01T06:00:00Z,${celsius},\n`);
    expect(await read('21.5')).toEqual(await read('"21.5"'));
    expect(await read('21.5')).not.toEqual(await read('"21.50000000000001"'));
  });

  it('reads columns in any order, a byte order mark, blank lines and no final line end', async () => {
    const expected = [[0, Date.UTC(2026, 4, 1, 6), 20.5, false, 3]];
    expect(await rowsOf('celsius,probe,time\n\n20.5,P,2026-05-01T08:00:00+02:00')).toEqual(expected);
    expect(await rowsOf('\ufeffprobe,time,celsius\r\n\r\nP,2026-05-01T06:00:00Z,20.5')).toEqual(expected);
  });

  it('counts lines on when the general parser takes over', async () => {
    const plain = 'P,2026-05-01T06:00:00Z,20,\n';
    const content = `${HEADER}\n${plain}\n${plain}"P",2026-05-01T06:00:00Z,20,"two\nlines"\n${plain}P,x,1,\n`;
    expect(await rowsOf(content)).toMatch(/line 8, column time: "x" is not a time/);
    expect(await rowsOf(`${HEADER}\n${plain}${plain}P,2026-05-01T06:00:00Z,20\n`)).toMatch(
      /line 4: 3 cells where the header has 4/,
    );
    expect(await rowsOf(`${HEADER}\n${plain}P,"2026\n`)).toMatch(/a quote .* is never closed/);
  });

  it('reads rows across the borders of what it reads at once', async () => {
    // 1 MiB at a time: lines of 30 to 35 bytes end everywhere
    const lines = Array.from(
      { length: 70_000 },
      (_, index) => `P,2026-05-01T06:00:00.${String(index % 1000).padStart(3, '0')}Z,${index / 8}`,
    );
    const rows = (await rowsOf(`probe,time,celsius\r\n${lines.join('\r\n')}\r\n`)) as number[][];
    expect(rows.length).toBe(lines.length);
    for (const [index, [, , celsius, , line]] of rows.entries())
      if (celsius !== index / 8 || line !== index + 2) expect.unreachable(`row ${index}`);
  });

  it('stops when it is told to', async () => {
    const path = join(folder, 'stop.csv');
    writeFileSync(path, `probe,time,celsius\n${'P,2026-05-01T06:00:00Z,20\n'.repeat(10)}P,wrong,20\n`);
    const lines: number[] = [];
    await readReadingRows(path, ['P'], (...[, , , , line]) => lines.push(line) < 5);
    expect(lines).toEqual([2, 3, 4, 5, 6]);
  });

  it('refuses a line without end, a file that is not there, a folder', async () => {
    expect(await rowsOf(`probe,time,celsius\nP,${'x'.repeat(200_000)}`)).toMatch(/never closed/);
    await expect(readReadingRows(join(folder, 'no.csv'), [], () => true)).rejects.toThrow(/no such file/);
    await expect(readReadingRows(folder, [], () => true)).rejects.toThrow(/this is a folder/);
  });
});

describe('PlainRows', () => {
  it('reads what boards and databases write, and leaves the rest alone', () => {
    const rows = new PlainRows(['probe', 'time', 'celsius'], ['28-00']);
    const read = (line: string) => rows.read(Buffer.from(`${line}\n`), 0);
    expect(read('28-00,2026-05-01T06:00:00.250Z,-3.0625')).toBe('row');
    expect(rows.row).toEqual({
      probe: 0,
      at: Date.UTC(2026, 4, 1, 6, 0, 0, 250),
      celsius: -3.0625,
      flagged: false,
    });
    expect(read('28-01,2026-05-01T06:00:00.250000+00:00,21.437499999999996')).toBe('row');
    expect(rows.row).toMatchObject({ probe: -1, celsius: 21.437499999999996 });
    expect(read('')).toBe('blank');
    for (const line of ['28-00,2026-05-01,1', 'é,2026-05-01T06:00:00Z,1', '28-00,2026-05-01T06:00:00Z,'])
      expect(read(line)).toBe('unusual');
  });
});
