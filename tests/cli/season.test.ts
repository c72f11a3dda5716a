import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../src/store/store.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { addVisit, counted } from '../visit/inventedSeason.js';
import { OPENED } from '../visit/situation.js';
import { run } from './run.js';

let folder: string;
let path: string;
const NOW = '2026-12-01T12:00:00Z';
allInNewFolder((fresh) => {
  folder = fresh;
  path = join(folder, 'x.sqlite');
  const store = openStoreToWrite(path, OPENED);
  const good = counted(
    [
      [9, 1],
      [8, 2],
      [7, 1],
      [10, 1],
      [6, 2],
    ],
    { by: 'Ada <b>' },
  );
  const poor = counted(
    [
      [3, 7],
      [4, 5],
      [2, 6],
      [5, 6],
      [3, 4],
    ],
    { lot: 'L2', by: 'Bo' },
  );
  addVisit(store, 1, 'alder', [...good, { tray: 1, wash: 1, isCold: true }]);
  addVisit(store, 2, 'birch', [...good, ...poor]);
  addVisit(store, 3, 'cedar', [...good, ...poor]);
  store.close();
});
const season = (...args: string[]) => run(['season', ...args], NOW);
const own = (...args: string[]) => season('--store', path, ...args);

describe('season', () => {
  it('tells yards, spread, share below the line, flow and lots, in words', async () => {
    const { code, out } = await own();
    expect(code).toBe(0);
    expect(out).toMatch(
      /^yard +arm +efficacy +range +level +used +the 70 % line\nalder +amitraz strip, lot L1 +85\.1.% +65\.9 - 94\.4 +95 % +5 of 6 +undecided\n/,
    );
    expect(out).toContain('amitraz strip, lot L1: 3 yards taken together');
    expect(out).toMatch(
      /spread between yards \(tau\) \d\.\d\d; share of yards below the 70 % line\s+under 1 %/,
    );
    expect(out).toMatch(/Nobody said how the yards were chosen/);
    expect(out).toContain('strip cups: planned, those without strip included 26, loaded 26,');
    expect(out).toContain('  cold: 1, lowest reading 12.0 °C');
    expect(out.replaceAll(/\s+/g, ' ')).toMatch(
      /by their verdicts; of the estimates of other lots 0 of 3 are: suspect the lot /,
    );
    expect(out).not.toMatch(/Ada|Bo\b/);
    const named = (await own('--with-people', '--chosen', 'by lot')).out;
    expect(named).toContain('loaded by Ada <b>: 15 strip cups');
    expect(named).toMatch(/By the word of whoever made this page: by lot\./);
  });

  it('writes CSV, a row a yard and arm', async () => {
    const rows: Record<string, string>[] = parse((await own('--format', 'csv')).out, { columns: true });
    expect(rows.map(({ yard, arm, used, cold }) => [yard, arm, used, cold])).toEqual([
      ['alder', 'amitraz strip, lot L1', '5', '1'],
      ['birch', 'amitraz strip, lot L1', '5', '0'],
      ['birch', 'amitraz strip, lot L2', '5', '0'],
      ['cedar', 'amitraz strip, lot L1', '5', '0'],
      ['cedar', 'amitraz strip, lot L2', '5', '0'],
    ]);
    // 40 of 47 mites fell: the counts above
    expect(Number(rows[0]!['efficacy'])).toBeCloseTo(40 / 47, 12);
  });

  it('writes all that is not of one yard as a second CSV, a figure a row', async () => {
    const { out } = await own('--format', 'figures', '--chosen', '=by lot');
    const rows: Record<string, string>[] = parse(out, { columns: true });
    const of = (about: string, name: string, figure: string) =>
      rows.filter((row) => row['about'] === about && row['name'] === name && row['figure'] === figure);
    const json = JSON.parse((await own('--json')).out);
    const [arm] = json.arms;
    expect(arm.arm).toBe('amitraz strip, lot L1');
    const told = (figure: string) =>
      of('arm', arm.arm, figure).map(({ value, low, high, level }) =>
        [value, low, high, level].map((cell) => (cell === '' ? null : Number(cell))),
      );
    // The same to the last digit as the JSON, whose figures are checked in tests/shared.
    expect(told('efficacy_of_middle_yard')).toEqual([
      [arm.efficacyOfMiddleYard, ...arm.intervalOfMiddleYard, 0.95],
    ]);
    expect(told('prediction_for_next_yard')).toEqual([[null, ...arm.predictionForNextYard, 0.95]]);
    expect(told('sd_between_yards_on_logit_scale')).toEqual([
      [arm.sdBetweenYards, ...arm.sdBetweenYardsInterval, 0.95],
    ]);
    const { estimate, interval } = arm.shareOfYardsBelowLine;
    expect(told('share_of_yards_below_line')).toEqual([[estimate, ...interval, 0.95]]);
    // Two yards of the other lot: no share, and no level of one.
    expect(of('arm', 'amitraz strip, lot L2', 'share_of_yards_below_line')).toMatchObject([
      { value: '', low: '', high: '', level: '' },
    ]);
    expect([...of('flow', 'strip cups', 'loaded'), ...of('flow', 'strip cups', 'cold')]).toMatchObject([
      { value: '26' },
      { value: '1' },
    ]);
    expect(of('lost', 'cold', 'min_celsius')).toMatchObject([{ value: '12' }]);
    expect(of('loaded-by', 'person 1', 'loaded')).toMatchObject([{ value: '15' }]);
    expect(of('lot', 'L2 (amitraz strip)', 'suspicion')[0]!['words']).toContain('suspect the lot');
    expect(of('without-strip', '', 'cups')).toMatchObject([{ value: '0' }]);
    expect(of('season', '', 'how_yards_were_chosen')[0]!['words']).toContain('=by lot');
    expect(out).not.toMatch(/Ada|NaN|undefined|null/);
    // Negative control: names are told when that is asked for.
    expect((await own('--format', 'figures', '--with-people')).out).toContain('loaded-by,Ada <b>,loaded,15');
    const other = join(folder, 'formulas.sqlite');
    const store = openStoreToWrite(other, OPENED);
    addVisit(store, 1, 'alder', counted([[9, 1]], { lot: '=1+1', by: '@x' }));
    store.close();
    const names = (await season('--store', other, '--format', 'figures', '--with-people')).out;
    // What a spreadsheet would reckon with is neutralised, as in a bundle.
    expect(names).toContain("\nlot,'=1+1 (amitraz strip),");
    expect(names).toContain("\nloaded-by,'@x,");
    // A row a figure, and no row twice.
    const keys = rows
      .filter(({ words }) => words === '')
      .map(({ about, name, figure }) => [about, name, figure].join());
    expect(new Set(keys).size).toBe(keys.length);
  });

  it('says the same from bundles as from the store they were written from', async () => {
    const bundles = ['one', 'two'].map((name) => join(folder, name));
    await run(['bundle', 'write', '--store', path, '--visit', 'v1', 'v2', '--out', bundles[0]!], NOW);
    await run(['bundle', 'write', '--store', path, '--visit', 'v3', '--out', bundles[1]!], NOW);
    const csv = (await own('--format', 'csv')).out;
    const gathered = await season(...bundles, '--format', 'csv');
    expect(gathered.err).toBe('');
    expect(gathered.out).toBe(csv);
    // Negative control: a season of one bundle is another one.
    expect((await season(bundles[0]!, '--format', 'csv')).out).not.toBe(csv);
    // Names stay with whoever has them.
    const told = JSON.parse((await season(...bundles, '--json', '--with-people')).out);
    // One of the 26 was loaded by nobody named, in whichever store.
    expect(told.operators).toMatchObject([
      { name: null, unnamed: 'left-out', loaded: 25 },
      { name: null, unnamed: 'none-given', loaded: 1 },
    ]);
    const text = (await season(...bundles)).out;
    expect(text).toContain(
      'loaded by names not in this store (left out of the bundle): 25 strip cups, 0 lost, 0 not read',
    );
    expect(text.replaceAll(/\s+/g, ' ')).toContain(
      'Losses by who loaded them need bundles written with --with-people.',
    );
    // Negative control: the store itself has the names.
    expect((await own()).out).not.toMatch(/left out of the bundle|--with-people/);
  });

  it('makes a page that asks for nothing elsewhere and escapes what people wrote', async () => {
    const out = join(folder, 'season.html');
    const ran = await own('--format', 'html', '--with-people', '--chosen', '<i>near</i>', '--out', out);
    expect(ran).toMatchObject({ code: 0, out: '' });
    const page = readFileSync(out, 'utf8');
    expect(page).toContain('Ada &lt;b&gt;');
    expect(page).toContain('&lt;i&gt;near&lt;/i&gt;');
    expect(page).not.toMatch(/<i>near|Ada <b>|<script|src=|url\(/);
    expect(page.match(/>one further yard</g)).toHaveLength(2);
    expect(page).toMatch(/chain head [0-9a-f]{64}/);
    expect(page).not.toMatch(/NaN|undefined|null/);
    // Without a format the name of the file tells it; a name that tells nothing gets text.
    for (const [name, begins] of [
      ['page.HTML', /^<!doctype html>/i],
      ['rows.csv', /^yard,/],
      ['season.txt', /^yard +arm/],
    ] as const) {
      const file = join(folder, name);
      expect((await own('--out', file)).code).toBe(0);
      expect(readFileSync(file, 'utf8')).toMatch(begins);
    }
    expect((await own('--format', 'html', '--out', out)).err).toMatch(/exists, and nothing is overwritten/);
  });

  it('tells the level of each range, which is another one for a yard that was looked at twice', async () => {
    const other = join(folder, 'looks.sqlite');
    const store = openStoreToWrite(other, OPENED);
    const pairs = [9, 8, 7, 10, 6].map((tray) => [tray, 2] as const);
    addVisit(store, 1, 'alder', counted(pairs));
    addVisit(store, 2, 'birch', counted(pairs), undefined, 4);
    store.close();
    const told = async (...args: string[]) => (await season('--store', other, ...args)).out;
    const rows: Record<string, string>[] = parse(await told('--format', 'csv'), { columns: true });
    // 1 - 0.05 / 2: Bonferroni, docs/statistics.md "Looking more than once".
    expect(rows.map(({ yard, efficacy_level }) => [yard, efficacy_level])).toEqual([
      ['alder', '0.95'],
      ['birch', '0.975'],
    ]);
    const width = ({ efficacy_low, efficacy_high }: Record<string, string>) =>
      Number(efficacy_high) - Number(efficacy_low);
    expect(width(rows[1]!)).toBeGreaterThan(width(rows[0]!));
    const text = await told();
    expect(text).toMatch(/^alder .* 95 % .*\nbirch .* 97\.5 % /m);
    const page = await told('--format', 'html');
    expect(page).toContain(
      'Bars are ranges of 95\u00a0%; those of these yards are wider: birch of 97.5\u00a0% (one of 2 looks).',
    );
    // Negative control: where nobody looked twice, no bar is said to be wider.
    expect(await told('--format', 'html', '--visit', 'v1')).not.toMatch(/97\.5|wider/);
  });

  it('leaves out visits that are still counted, and says so, unless it is told that no count will come', async () => {
    const other = join(folder, 'counting.sqlite');
    const store = openStoreToWrite(other, OPENED);
    const pairs = [9, 8, 7, 10, 6].map((tray) => [tray, 2] as const);
    addVisit(store, 1, 'alder', [...counted(pairs), { tray: 3, wash: null }]);
    store.close();
    const of = (...args: string[]) => season('--store', other, ...args);
    const refused = await of();
    expect(refused).toMatchObject({ code: 1, out: '' });
    expect(refused.err).toMatch(/No visit is fully counted yet.*v1 \(1 cup\).*--final/s);
    const again = openStoreToWrite(other, OPENED);
    addVisit(again, 2, 'birch', counted(pairs));
    again.close();
    for (const format of ['text', 'csv', 'html']) {
      const { out, err } = await of('--format', format);
      expect(out).toContain('birch');
      expect(out.replaceAll(/\s+/g, ' ')).not.toContain('alder');
      expect(`${out}${err}`.replaceAll(/\s+/g, ' ')).toMatch(
        /[Ll]eft out until all cups are counted.*v1 \(1 cup\)/,
      );
      // Negative control.
      expect((await of('--format', format, '--final')).out).toContain('alder');
    }
    expect(JSON.parse((await of('--json', '--final')).out)).toMatchObject({ flow: { unread: 1 } });
    const bundle = join(folder, 'counting');
    await run(['bundle', 'write', '--store', other, '--visit', 'v1', 'v2', '--out', bundle], NOW);
    expect((await season(bundle)).out).not.toContain('alder');
  });

  it('tells a share of yards that is next to nothing as under 1 %, and what four alike yards leave open', async () => {
    const other = join(folder, 'alike.sqlite');
    const store = openStoreToWrite(other, OPENED);
    const pairs = [9, 8, 10, 9, 9, 10].map((tray) => [tray, 1] as const);
    for (const [index, yard] of ['alder', 'birch', 'cedar', 'dogwood'].entries())
      addVisit(store, index + 1, yard, counted(pairs));
    store.close();
    const of = async (...args: string[]) =>
      (await season('--store', other, ...args)).out.replaceAll(/\s+/g, ' ');
    const { estimate, interval } = JSON.parse(await of('--json')).arms[0].shareOfYardsBelowLine;
    // What the fit says of itself, and nobody could know from four yards.
    expect([estimate, interval[1] < 1e-6]).toEqual([0, true]);
    for (const format of ['text', 'html']) {
      const told = await of('--format', format);
      expect(told).toMatch(/hare of yards below the 70 % line[^:]*?:? under 1 %, by its range too/);
      // binom.test(0, 4), computed by R 4.2.2: 0 to 0.60236.
      expect(told).toContain('leaves open that up to 60 % of all yards lie there');
      expect(told).not.toMatch(/\(0 % to 0 %\)|line 0 %/);
    }
    // Negative control: yards that differ have a share with ends.
    const again = openStoreToWrite(other, OPENED);
    addVisit(again, 5, 'elder', counted(pairs.map(([tray, wash]) => [wash, tray] as const)));
    again.close();
    expect(await of()).toMatch(/share of yards below the 70 % line [\d.]+ % \([\d.]+ % to [\d.]+ %\)/);
  });

  it('refuses visits it does not know', async () => {
    expect(await own('--visit', 'v9')).toMatchObject({ code: 1, out: '' });
  });
});
