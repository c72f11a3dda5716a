import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { BOARDS, plywoodSheet } from '../../../hardware/carrier/plywood.js';
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

describe.skipIf(WHY_NO_MODEL !== null)('`plywoodSheet()`', () => {
  test.each([
    ['9oz', '9 oz', 'width="550mm" height="711mm"'], // 520 + 30; 3 x 208 + 2 x 20 + 32 + 15
    ['deli', 'deli', 'width="675mm" height="861mm"'], // 645 + 30; 3 x 258 + 2 x 20 + 32 + 15
  ])('draws the boards for %s cups, 1:1', async (cup, name, size) => {
    const { file, said } = render('svg', { part: 'plywood', cup });
    if (!file) throw new Error(said);
    const sheet = plywoodSheet(file.toString('utf8'), name);
    expect(sheet).toContain(size);
    for (const board of BOARDS) expect(sheet).toContain(`${board.name}, ${board.thickness} thick`);
    // Ten slots and six screws on each of three boards: every hole has a cross on its centre.
    expect(sheet.match(/stroke-width="0.15"/g)).toHaveLength(3 * 16);
    expect(sheet.match(/drill [\d.]+, all of this size/g)!.length).toBe(2);
    await expect(sheet).toMatchFileSnapshot(`../../../${FOLDER}/plywood-${cup}.svg`);
  });
});

test('`plywoodSheet()` refuses what OpenSCAD did not draw', () => {
  expect(() => plywoodSheet('<svg/>', '9 oz')).toThrow('this is not a drawing by OpenSCAD');
});
