import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { html } from '../../src/report/html.js';
import { page } from '../../src/report/page.js';
import { whyNot } from './debianPrograms.js';
import { pagePictures } from './pagePictures.js';
import { type Picture, readPng } from './png.js';

const why = whyNot('chromium', 'pdftotext');

const isInk = ({ rgb }: Picture, pixel: number): boolean => rgb[pixel * 3]! < 128;
/** The lowest row that has ink in it, and the column furthest right. */
function reach(picture: Picture): { readonly row: number; readonly column: number } {
  let [row, column] = [0, 0];
  for (let pixel = 0; pixel < picture.width * picture.height; pixel++)
    if (isInk(picture, pixel)) {
      row = Math.floor(pixel / picture.width);
      column = Math.max(column, pixel % picture.width);
    }
  return { row, column };
}

describe.skipIf(why !== null)(`pagePictures()${why === null ? '' : ` (${why})`}`, () => {
  it('shows a page in full length on each screen, and sheet by sheet', () => {
    const folder = mkdtempSync(join(tmpdir(), 'stillwarm-seen-'));
    try {
      const lines = html`${Array.from({ length: 90 }, (_, line) => html`<p>line ${line}</p>`)}`;
      const body = html`<h1>A page</h1>${lines}<p style="text-align: right">to the end of the line</p>`;
      const files = pagePictures(page({ language: 'en', title: 'A page', body }), folder, 'seen');
      expect(files).toEqual([
        ...['seen-400.png', 'seen-900.png'],
        ...['seen-A4-1.png', 'seen-A4-2.png', 'seen-A4-3.png'],
        ...['seen-Letter-1.png', 'seen-Letter-2.png', 'seen-Letter-3.png'],
      ]);
      const [narrow, wide, sheet] = ['seen-400.png', 'seen-900.png', 'seen-A4-1.png'].map((file) =>
        readPng(readFileSync(join(folder, file))),
      );
      // The last line stands right above the end of the picture: nothing is cut off, and nothing follows.
      for (const picture of [narrow!, wide!]) {
        expect(picture.height).toBeGreaterThan(90 * 20);
        expect(picture.height - reach(picture).row).toBeLessThan(40);
      }
      // A page of 400 pixels ends there, and one of 900 beyond it.
      expect(reach(narrow!).column).toBeLessThan(400);
      expect(reach(wide!).column).toBeGreaterThan(700);
      // 210 mm at 100 dots to the inch: plain arithmetic.
      expect(Math.abs(sheet!.width - (210 / 25.4) * 100)).toBeLessThan(1.5);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
