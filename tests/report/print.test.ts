import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { html } from '../../src/report/html.js';
import { labPage } from '../../src/report/lab/labPage.js';
import { materialOf } from '../../src/report/lab/material.js';
import { page } from '../../src/report/page.js';
import { seasonPage } from '../../src/report/season/seasonPage.js';
import { table } from '../../src/report/table.js';
import { SPANISH } from '../../src/report/words/spanish.js';
import type { Store } from '../../src/store/store.js';
import { record } from '../../src/visit/record.js';
import { seasonResult } from '../../src/visit/seasonResult.js';
import { whyNot } from '../tools/debianPrograms.js';
import { addVisit } from '../visit/inventedSeason.js';
import { eachInNewStore } from '../visit/newStore.js';
import { corrects, label, minute } from '../visit/situation.js';
import { pageOf } from './beekeeper/pageOf.js';
import { DIFFICULT } from './difficultYards.js';
import { AFTERWARDS, cupsWith, inventYards, visitsIn } from './inventedYards.js';
import { OPTIONS, printed, sheets } from './printed.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

const why = whyNot('chromium', 'pdftotext');

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

/** The words of each sheet, a line each. */
const sheetsInWords = (page: string): string[][] =>
  printed(page, 'A4', (file) =>
    spawnSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' })
      .stdout.split('\f')
      .map((sheet) => sheet.split('\n').filter((line) => line.trim() !== ''))
      .filter((lines) => lines.length > 0),
  );

/** Sections of a heading, an introduction of two lines and a table each, which end at ever other heights. */
const manySections = (): string =>
  page({
    language: 'en',
    title: 'sections',
    isDense: true,
    body: html`${Array.from(
      { length: 60 },
      (_, section) => html`<p>${Array.from({ length: 1 + (section % 7) }, () => html`filler<br>`)}</p>
<h2>heading ${section}</h2>
<p>introduction ${section}: ${'so many words that they take a second line, '.repeat(3)}</p>
${table(
  `table ${section}`,
  [{ head: `head ${section}`, cell: (row: number) => `cell ${section} ${row}` }],
  Array.from({ length: 1 + (section % 9) }, (_, row) => row),
)}`,
    )}`,
  });

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

  it('is one sheet of A4 or Letter for a season of four yards, and would be found out if it were longer', () => {
    const mites = [9, 8, 10, 9, 7, 10].map((tray) => ({ tray, wash: 1 }));
    const others = [
      { tray: 2, wash: 2, isCold: true },
      { tray: 1, wash: 9, kind: 'no-strip' as const },
    ];
    for (const [index, yard] of ['alder', 'birch', 'cedar', 'dogwood'].entries())
      addVisit(store, index + 1, yard, [...mites, ...others]);
    const { season, visits } = visitsIn(store);
    const result = seasonResult(store, season, visits, minute(5 * 300 + 600));
    // As of two vehicles whose bundles were gathered, without names.
    const chains = Array.from(
      { length: 2 },
      () => `Store 0123456789abcdef: 143 facts, chain head ${'0'.repeat(64)}.`,
    );
    const printable = seasonPage(result, {
      chosen: null,
      withPeople: false,
      version: '0.0.0',
      chains: chains.join(' '),
    });
    expect(printable).toContain('leaves open that up to 60 %'.replace(' %', '\u00a0%'));
    expect([sheets(printable, 'A4'), sheets(printable, 'Letter')]).toEqual([1, 1]);
    const longer = printable.replace('<footer>', `<p>${'one more line<br>'.repeat(20)}</p><footer>`);
    expect(sheets(longer, 'Letter')).toBe(2);
  });

  it('ends no sheet with a heading or its introduction, and breaks no small table, and would be found out if it did', () => {
    const broken = (page: string) => {
      const all = sheetsInWords(page);
      const ends = all.slice(0, -1).filter((lines) => /heading|introduction|second line/.test(lines.at(-1)!));
      const tables = all.filter((lines) => /cell \d+ [1-9]/.test(lines[0]!) || /head \d+/.test(lines[0]!));
      return { sheets: all.length > 10, ends: ends.length, tables: tables.length };
    };
    expect(broken(manySections())).toEqual({ sheets: true, ends: 0, tables: 0 });
    const without = manySections()
      .replace('h1, h2, h3, main > h2 + p, main > h3 + p { break-after: avoid; }', '')
      .replace('.whole, ', '');
    const found = broken(without);
    expect(Math.min(found.ends, found.tables)).toBeGreaterThan(0);
  });

  it('is one sheet when people changed rulings and counts of one of three yards, of all of them on A4', () => {
    inventYards(store, DIFFICULT['three yards']!);
    const why = store.keepText('looked wrong');
    const changes = (yard: string, tray: number) =>
      record(store, AFTERWARDS, () => [
        { type: 'cup-overruled', cup: label(`${yard}-05`), ruling: 'cold', why, at: AFTERWARDS },
        corrects(`${yard}-06`, 590, tray, 2),
      ]);
    const pages = () => {
      const action = { per100: 2, source: 'a leaflet of this county', date: 'March 2026' };
      return [pageOf(store, [], { action }), pageOf(store, [], { action, words: SPANISH })];
    };
    changes('ald', 1);
    expect(pages().map((page) => sheets(page, 'Letter'))).toEqual([1, 1]);
    changes('sed', 1);
    changes('clo', 0);
    const [english, spanish] = pages();
    expect(english!.match(/A person changed what counts after/g)).toHaveLength(3);
    expect(english!.match(/1 mite count was corrected/g)).toHaveLength(3);
    expect([sheets(english!, 'A4'), sheets(spanish!, 'A4')]).toEqual([1, 1]);
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
