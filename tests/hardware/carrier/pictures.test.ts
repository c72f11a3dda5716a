import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { cutList, variantTable } from '../../../hardware/carrier/cutList.js';
import { BOARDS, plywoodSheet, readSizes, type Sizes } from '../../../hardware/carrier/plywood.js';
import { difference, readPng } from '../../tools/png.js';
import { render, WHY_NO_MODEL, WHY_NO_PICTURE } from './openscad.js';

const FOLDER = 'hardware/carrier';
/** As much may differ between two machines that draw the same model (edges are smoothed otherwise): judgement. */
const DIFFERENCE_MOST = 0.005;
/** A picture of the guide is small: judgement. */
const PICTURE_BYTES_MOST = 80_000;

const VIEWS = {
  assembly: ['--imgsize=1000,520', '--camera=230,104,20,55,0,25,1250', '--colorscheme=Nature'],
  cutaway: ['--imgsize=700,480', '--camera=0,0,47,84,0,0,345', '--projection=o', '--colorscheme=Nature'],
  exploded: ['--imgsize=420,640', '--camera=0,0,112,70,0,20,690', '--projection=o', '--colorscheme=Nature'],
} as const;

/** Draws a view; under `npm run drawings` it becomes the committed picture. */
function drawn(view: keyof typeof VIEWS): Buffer {
  const { file, said } = render('png', { part: view }, VIEWS[view]);
  if (!file) throw new Error(said);
  if (process.env['npm_lifecycle_event'] === 'drawings') writeFileSync(`${FOLDER}/${view}.png`, file);
  return file;
}

describe.skipIf(WHY_NO_PICTURE !== null)('the pictures of the carrier', () => {
  test.each(['assembly', 'cutaway', 'exploded'] as const)('`%s.png` shows the model', (view) => {
    const file = drawn(view);
    const committed = readFileSync(`${FOLDER}/${view}.png`);
    expect(difference(readPng(file), readPng(committed))).toBeLessThan(DIFFERENCE_MOST);
    expect(committed.length).toBeLessThan(PICTURE_BYTES_MOST);
  });

  test('a changed model is found out (negative control)', () => {
    const { file } = render('png', { part: 'cutaway', probe_above_mesh_mm: 27 }, VIEWS.cutaway);
    const committed = readPng(readFileSync(`${FOLDER}/cutaway.png`));
    expect(difference(readPng(file!), committed)).toBeGreaterThan(DIFFERENCE_MOST);
    expect(difference(readPng(file!), { ...committed, width: 1 })).toBe(1);
  });
});

const SIZES: Sizes = {
  pitch_mm: 104,
  well_mm: 94,
  dish_hole_mm: 84,
  post_hole_mm: 8.8,
  screw_mm: 3.4,
  vents: 8,
  vent_mm: 12,
  vent_at_mm: 45,
  slots_per_row: 5,
  rows: 2,
};

/** The model's plywood boards for a cup, and what OpenSCAD said of their sizes. */
function boards(cup: string) {
  const { file, said } = render('svg', { part: 'plywood', cup });
  if (!file) throw new Error(said);
  return { drawn: file.toString('utf8'), sizes: readSizes(said), said };
}

describe.skipIf(WHY_NO_MODEL !== null)('`plywoodSheet()`', () => {
  test.each([
    // By hand: 520 + 30; 3 x 208 + 2 x 20 boards, 42 head, 9 lines of 8 and 15 below, 15 margin. Holes: 92 + 2; 92 - 8.
    ['9oz', '9 oz', 'width="550mm" height="808mm"', ['saw Ø 94', 'saw Ø 84', 'drill Ø 9']],
    // 645 + 30; 3 x 258 + 2 x 20 + the same. Holes: 117 + 2; 117 - 8.
    ['deli', 'deli', 'width="675mm" height="958mm"', ['saw Ø 119', 'saw Ø 109', 'drill Ø 9']],
  ])('draws the boards for %s cups, 1:1', async (cup, name, size, holes) => {
    const { drawn, sizes } = boards(cup);
    const sheet = plywoodSheet(drawn, sizes, name);
    expect(sheet).toContain(size);
    for (const board of BOARDS) expect(sheet).toContain(`${board.name}, ${board.thickness} mm thick`);
    for (const hole of holes) expect(sheet.split(`>${hole}<`)).toHaveLength(10 + 1);
    for (let slot = 1; slot <= 10; slot += 1) expect(sheet.split(`>${slot}</text>`)).toHaveLength(3 + 1);
    // A cross on the middle of ten slots and six screws on three boards, and of eight air holes for each slot of two.
    expect(sheet.match(/stroke-width="0.15"/g)).toHaveLength(3 * 16 + 2 * 80);
    expect(sheet.split('>drill 3.5<')).toHaveLength(18 + 1);
    await expect(sheet).toMatchFileSnapshot(`../../../${FOLDER}/plywood-${cup}.svg`);
  });

  test('refuses to write a size beside a hole that is drawn otherwise (negative control)', () => {
    const { drawn, sizes } = boards('9oz');
    expect(() => plywoodSheet(drawn, { ...sizes, dish_hole_mm: 83 }, '9 oz')).toThrow(
      'ledge, slot 1: no hole of 83 mm is drawn there',
    );
    expect(() => plywoodSheet(drawn, { ...sizes, vent_mm: 10 }, '9 oz')).toThrow('ledge, slot 1');
    expect(() => plywoodSheet(drawn, { ...sizes, pitch_mm: 100 }, '9 oz')).toThrow('floor, slot 1');
  });

  test('the variants in hardware/carrier/README.md take what the model says', () => {
    const cups = [
      { cup: '9oz', name: '9 oz', rim: 92 },
      { cup: 'deli', name: 'deli', rim: 117 },
    ].map(({ cup, name, rim }) => {
      const { said, sizes } = boards(cup);
      const [, columns, rows] = /tile_columns = (\d+), tile_rows = (\d+)/.exec(said) ?? [];
      const tiles = Math.ceil(sizes.slots_per_row / Number(columns)) * Math.ceil(sizes.rows / Number(rows));
      return {
        name,
        rim,
        long: sizes.slots_per_row * sizes.pitch_mm,
        wide: sizes.rows * sizes.pitch_mm,
        tiles,
      };
    });
    expect(readFileSync(`${FOLDER}/README.md`, 'utf8')).toContain(variantTable(cups));
  });
});

test('`plywoodSheet()` refuses what OpenSCAD did not draw', () => {
  expect(() => plywoodSheet('<svg/>', SIZES, '9 oz')).toThrow('this is not a drawing by OpenSCAD');
});

test('`readSizes()` reads what the model says, and refuses when something is missing', () => {
  expect(
    readSizes(
      'ECHO: pitch_mm = 104, well_mm = 94, dish_hole_mm = 84, post_hole_mm = 8.8, screw_mm = 3.4, vents = 8, vent_mm = 12, vent_at_mm = 45, slots_per_row = 5, rows = 2\n',
    ),
  ).toEqual(SIZES);
  expect(() => readSizes('ECHO: pitch_mm = 104\n')).toThrow('well_mm');
});

test('`cutList()` gives boards as large as the slots, and a base that bears the box', () => {
  // By hand: 520 - 2 x 40; 520 + 120, 208 + 20.
  expect(cutList(520, 208).map(({ number, long, wide, thick }) => [number, long, wide, thick])).toEqual([
    [1, 520, 208, 12],
    [1, 520, 208, 8],
    [1, 520, 208, 9],
    [2, 520, 20, 12],
    [1, 440, 20, 12],
    [1, 640, 228, 9],
  ]);
});
