import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { SPANISH } from '../../src/report/words/spanish.js';
import type { Store } from '../../src/store/store.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewStore } from '../visit/newStore.js';
import { pageOf } from './beekeeper/pageOf.js';
import { DIFFICULT } from './difficultYards.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

const why = whyNot('chromium');

/** Prints a page on sheets of a size and counts them. */
function sheets(page: string, size: 'A4' | 'Letter'): number {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-print-'));
  try {
    const [source, printed] = [join(folder, 'page.html'), join(folder, 'page.pdf')];
    writeFileSync(source, page.replace('</head>', `<style>@page { size: ${size}; }</style></head>`));
    const options = [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      `--user-data-dir=${join(folder, 'profile')}`,
    ];
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
  }, 60_000);
});
