import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { checkedGrid, DEFAULT_GRIDS, type LabelGrid } from '../../../src/report/plan/labelGrid.js';
import { type LabelSheet, labelSheet, spareLabels } from '../../../src/report/plan/labelSheet.js';
import { machineCode } from '../../../src/report/plan/machineCode.js';
import { ready } from '../../plan/invented.js';
import { eachOnDesk } from '../../screen/entry/onDesk.js';
import { whyNot } from '../../tools/debianPrograms.js';
import { printed, sheets } from '../printed.js';

const sheet = (change: Partial<LabelSheet> = {}): LabelSheet => ({
  ...{ grid: DEFAULT_GRIDS.a4, code: 'qr', skip: 0, copies: 1, isCut: false },
  ...change,
});
const cups = ready();
const labels = cups.map(({ cup }) => cup);
const LETTER = { grid: DEFAULT_GRIDS.letter, code: 'code128' } as const;

/** Where labels lie on their sheets, as left and top. */
const places = (page: string) =>
  [...page.matchAll(/style="left:([\d.]+)mm;top:([\d.]+)mm"/g)].map(([, x, y]) => [Number(x), Number(y)]);

describe('labelSheet()', () => {
  it('lays labels out row by row, after those that are used up', () => {
    expect(places(labelSheet(cups, sheet())).slice(0, 4)).toEqual([
      [0, 0.5],
      [70, 0.5],
      [140, 0.5],
      [0, 37.5],
    ]);
    expect(places(labelSheet(cups, sheet({ skip: 23 }))).slice(0, 2)).toEqual([
      [140, 259.5],
      [0, 0.5],
    ]);
  });

  it('prints each as often as wanted, as text and as code', () => {
    const page = labelSheet(cups, sheet({ copies: 2 }));
    for (const label of labels) expect(page.split(`>${label}</b>`)).toHaveLength(3);
    expect(page.match(/<svg/g)).toHaveLength(20);
  });

  it('tells whoever washes neither lot nor whether there was a strip', () => {
    const told = ready({}).map((cup) => ({
      ...cup,
      kind: 'no-strip' as const,
      lot: 'L-SECRET',
      active: 'A-SECRET',
    }));
    expect(labelSheet(told, sheet())).not.toMatch(/SECRET|strip/i);
  });

  it('escapes what people typed', () => {
    const [cup] = ready();
    expect(labelSheet([{ ...cup!, colony: '<b>&' }], sheet())).toContain('&lt;b&gt;&amp;');
  });
});

describe('checkedGrid()', () => {
  const a4 = (change: Partial<LabelGrid>) => () => checkedGrid({ ...DEFAULT_GRIDS.a4, ...change });
  it('takes the usual sheets, and refuses one that is wider or higher than its paper', () => {
    expect([checkedGrid(DEFAULT_GRIDS.a4), checkedGrid(DEFAULT_GRIDS.letter)]).toHaveLength(2);
    expect(a4({ gap: [1, 0] })).toThrow(
      '3 columns of such labels end 212.0 mm from the left edge, and A4 has 210 mm',
    );
    expect(a4({ rows: 9 })).toThrow('9 rows');
    expect(a4({ margin: [0, 1] })).not.toThrow();
  });
});

describe('machineCode()', () => {
  it('refuses a label that is too narrow for modules that can be read', () => {
    expect(() => machineCode('code128', labels[0]!, 50, 10)).toThrow('needs 52 mm');
    expect(() => machineCode('qr', labels[0]!, 9, 9)).toThrow('take larger labels');
    // 21 modules, and 4 of white on each side (ISO/IEC 18004, from memory), each of 0.33 mm: 9.57 mm.
    expect(machineCode('qr', labels[0]!, 9.6, 9.6).widthMm).toBeCloseTo(9.6, 5);
  });
});

describe('spareLabels()', () => {
  it('goes on from the last label, so that a spare is of this plan too', () => {
    expect(spareLabels(cups, 2)).toEqual(['260513-7KQ2MH-11', '260513-7KQ2MH-12']);
    expect(spareLabels([{ ...cups[0]!, cup: 'C' as never }], 1)).toBeNull();
  });
});

const why = whyNot('chromium', 'pdftotext', 'zbarimg');

/** What a decoder reads off each label of the first printed sheet, held alone before it as before a scanner (300 dots an inch). */
const decoded = (page: string, { columns, rows, label, margin, gap }: LabelGrid): string[] =>
  printed(page, columns * rows === 24 ? 'A4' : 'Letter', (file) => {
    const picture = file.replace('.pdf', '');
    const dots = (mm: number): string => String(Math.round((mm / 25.4) * 300));
    const places = cups.map((_, index) => [index % columns, Math.floor(index / columns)] as const);
    for (const [column, row] of places) {
      const [x, y] = [margin[0] + column * (label[0] + gap[0]), margin[1] + row * (label[1] + gap[1])];
      const window = ['-x', dots(x), '-y', dots(y), '-W', dots(label[0]), '-H', dots(label[1])];
      const { status } = spawnSync('pdftoppm', [
        '-r',
        '300',
        ...window,
        '-png',
        file,
        `${picture}-${row}-${column}`,
      ]);
      expect(status).toBe(0);
    }
    const { stdout } = spawnSync('sh', ['-c', `zbarimg --quiet --raw ${picture}-*.png`], {
      encoding: 'utf8',
    });
    return stdout.split('\n').filter(Boolean);
  });

describe.skipIf(why !== null)(`printed labels${why === null ? '' : ` (${why})`}`, () => {
  const [a4, letter] = [labelSheet(cups, sheet()), labelSheet(cups, sheet(LETTER))];

  it('are read by a decoder, in their places, as they are written beside the code: QR on A4, Code 128 on Letter', () => {
    expect(decoded(a4, DEFAULT_GRIDS.a4)).toEqual(labels);
    expect(decoded(letter, DEFAULT_GRIDS.letter)).toEqual(labels);
  });

  it('would be found out if a code said another label, or nothing (negative control)', () => {
    const [first = '', second = ''] = a4.match(/<svg.*?<\/svg>/gs) ?? [];
    expect(decoded(a4.replace(first, second), DEFAULT_GRIDS.a4)).toEqual([labels[1], ...labels.slice(1)]);
    expect(decoded(a4.replace(first, ''), DEFAULT_GRIDS.a4)).toEqual(labels.slice(1));
    // Bars that print a little too wide, as ink on bad paper does, more than half a module on each side.
    const blurred = letter.replaceAll('fill-rule="evenodd"', '$& stroke="#000" stroke-width="1.2"');
    expect(decoded(blurred, DEFAULT_GRIDS.letter)).toEqual([]);
  });

  it('take as many sheets as there are labels for, none of them empty', () => {
    const many = (count: number) =>
      labelSheet(
        Array.from({ length: count }, () => cups[0]!),
        sheet(),
      );
    expect([
      sheets(many(24), 'A4'),
      sheets(many(25), 'A4'),
      sheets(labelSheet(cups, sheet(LETTER)), 'Letter'),
    ]).toEqual([1, 2, 1]);
  });
});

describe('a label that is scanned on the screen', () => {
  const desk = eachOnDesk();
  it('is taken for the label of the cup, and shows that cup later', () => {
    desk.loadOne();
    desk.type(`*1\n${labels[0]}\n\n\n\n\n`);
    expect(desk.cup(labels[0]!)).toMatchObject({ cup: labels[0] });
    desk.type(`*${labels[0]}\n`);
    expect(desk.shown()).toContain(`Cup ${labels[0]}`);
  });
});
