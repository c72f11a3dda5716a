import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { labPage } from '../../src/report/lab/labPage.js';
import { materialOf } from '../../src/report/lab/material.js';
import { SPANISH } from '../../src/report/words/spanish.js';
import type { Store } from '../../src/store/store.js';
import { record } from '../../src/visit/record.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewStore } from '../visit/newStore.js';
import { label } from '../visit/situation.js';
import { pageOf } from './beekeeper/pageOf.js';
import { DIFFICULT } from './difficultYards.js';
import { AFTERWARDS, cupsWith, inventYards, visitsIn } from './inventedYards.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

const why = whyNot('chromium');

const OPTIONS = ['--headless', '--no-sandbox', '--disable-gpu'];

/** By how many pixels the widest table of a page is cut off by the sheet. */
function cutOff(page: string): number {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-print-'));
  try {
    const source = join(folder, 'page.html');
    const measure =
      "document.title = Math.max(...[...document.querySelectorAll('.scroll')].map((each) => each.scrollWidth - each.clientWidth))";
    const open = page.replace(/<meta http-equiv[^>]*>/, '');
    writeFileSync(source, open.replace('</body>', `<script>${measure}</script></body>`));
    const { stdout } = spawnSync(
      'chromium',
      [
        ...OPTIONS,
        '--window-size=900,900',
        `--user-data-dir=${join(folder, 'profile')}`,
        '--dump-dom',
        `file://${source}`,
      ],
      { encoding: 'utf8' },
    );
    return Number(/<title>(\d+)<\/title>/.exec(stdout)![1]);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Prints a page on sheets of a size and counts them. */
function sheets(page: string, size: 'A4' | 'Letter'): number {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-print-'));
  try {
    const [source, printed] = [join(folder, 'page.html'), join(folder, 'page.pdf')];
    writeFileSync(source, page.replace('</head>', `<style>@page { size: ${size}; }</style></head>`));
    const options = [...OPTIONS, `--user-data-dir=${join(folder, 'profile')}`];
    const { status } = spawnSync('chromium', [...options, `--print-to-pdf=${printed}`, `file://${source}`]);
    expect(status).toBe(0);
    return readFileSync(printed, 'latin1').match(/\/Type *\/Page\b/g)?.length ?? 0;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

describe.skipIf(why !== null)(`the printed page${why === null ? '' : ` (${why})`}`, () => {
  it('is one sheet of A4 or Letter for three yards of ten cups, and would be found out if it were longer', () => {
    const action = { per100: 2, source: 'a leaflet of this county', date: 'March 2026' };
    const page = pageOf(store, DIFFICULT['three yards']!, { action });
    const spanish = pageOf(store, [], { action, words: SPANISH });
    // The Spanish page has more words, and Letter is the shorter sheet.
    expect([sheets(page, 'A4'), sheets(spanish, 'Letter')]).toEqual([1, 1]);
    const longer = page.replace('<footer>', `<p>${'one more line<br>'.repeat(9)}</p><footer>`);
    expect(sheets(longer, 'Letter')).toBe(2);
  });

  it('cuts off no table of the lab report, and would be found out if one were wider', () => {
    // Long spells at least and at most, and an overrule: the widest rows there are.
    const cups = cupsWith([5, 3], [2, 4], [8, 1], [3, 3], [6, 2], [1, 8]).map((cup, index) => ({
      ...cup,
      celsius: (at: number) => (at > 30 && at < 40 + 20 * index ? 9 + index : 30 + 12 * Math.sin(at)),
      silent: [140, 160] as const,
    }));
    inventYards(store, [{ yard: 'alder-07', cups, declared: 5 }]);
    const why = store.keepText('a draught');
    record(store, AFTERWARDS, () => [
      { type: 'cup-overruled', cup: label('ald-03'), ruling: 'unproven', why, at: AFTERWARDS },
    ]);
    const { season, visits } = visitsIn(store);
    const page = labPage(materialOf(store, season, visits[0]!, AFTERWARDS, '0.0.0', false));
    expect(cutOff(page)).toBe(0);
    expect(
      cutOff(page.replace('width: 100%; font-size: 0.8em', 'width: 100%; font-size: 1em')),
    ).toBeGreaterThan(0);
  });
});
