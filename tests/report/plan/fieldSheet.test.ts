import { describe, expect, it } from 'vitest';
import { fieldSheets } from '../../../src/report/plan/fieldSheet.js';
import { MENU } from '../../../src/screen/entry/menu.js';
import { CAUTIONS } from '../../../src/visit/cautions.js';
import { ready, slots, twoEach, yard } from '../../plan/invented.js';
import { whyNot } from '../../tools/debianPrograms.js';
import { sheets } from '../printed.js';

const TWO = {
  yards: [yard('alder-07', twoEach(5)), yard('sedge-12', 12, 25)],
  slots: slots(['A', 12], ['B', 10]),
};
const page = (cups = ready(TWO)): string => fieldSheets(cups, 'planned.csv');
const parts = (text: string) => text.split('cut here before the wash');

describe('fieldSheets()', () => {
  it('has a sheet a yard with every cup, its slot, colony, planned load and window', () => {
    const text = page();
    expect(text.match(/<section class="sheet">/g)).toHaveLength(2);
    expect(text).toContain('<h1>Yard alder-07</h1>');
    expect(text).toMatch(
      /A:6<\/b><\/td><td class="label">260513-7KQ2MH-02<\/td><td>c1<\/td>.*07:06.*10:01–10:21/,
    );
  });

  it('says each step in the words and with the number of the screen', () => {
    const named = [...page().matchAll(/<b>(\d+) (\w+)<\/b>/g)].map(([, number, name]) => [
      Number(number),
      name,
    ]);
    expect(new Set(named.map(([number]) => number))).toEqual(new Set([1, 2, 3, 4, 5, 6, 9, 10, 15]));
    for (const [number, name] of named) expect(MENU[(number as number) - 1]!.name).toBe(name);
  });

  it('has the cautions at their step', () => {
    const [field, wash] = parts(page());
    expect([field!.includes(CAUTIONS.visit), field!.includes(CAUTIONS.wash)]).toEqual([true, false]);
    expect(wash).toContain(CAUTIONS.wash);
  });

  it('lets whoever washes know no tray, lot or kind, and has no place for a temperature or a ruling', () => {
    const cups = ready(TWO).map((cup, index) => ({
      ...cup,
      lot: `LOT-${index % 2}`,
      kind: index === 0 ? ('no-strip' as const) : cup.kind,
    }));
    const [field, rest] = parts(page(cups.filter(({ yard: code }) => code === 'alder-07')));
    const wash = rest!.slice(0, rest!.indexOf('</section>'));
    expect(field).toContain('LOT-1');
    expect(field).toContain('no strip');
    expect(wash).not.toMatch(/LOT-|no strip|<th>tray/);
    expect(field).not.toMatch(/<th>(temperature|ruling)|°C/);
  });

  it('names arms in full in each row while they are short, else by numbers that its head explains', () => {
    const lots = (name: string) => ready(TWO).map((cup, index) => ({ ...cup, lot: `${name}${index % 2}` }));
    expect(page(lots('L'))).toContain('<b>lot L1</b>');
    expect(page(lots('L'))).not.toContain('arm 1');
    const long = page(lots('LOT-2026-0007-'));
    expect(long).toContain(
      'arm 1: active not told, lot LOT-2026-0007-0 / arm 2: active not told, lot LOT-2026-0007-1',
    );
    expect([long.includes('<b>arm 1</b>'), long.includes('<b>arm 2</b>')]).toEqual([true, true]);
  });

  it('escapes what people typed', () => {
    expect(page(ready(TWO).map((cup) => ({ ...cup, colony: '<i>x' })))).not.toContain('<i>x');
  });
});

const why = whyNot('chromium', 'pdftotext');
describe.skipIf(why !== null)(`the printed field sheet${why === null ? '' : ` (${why})`}`, () => {
  it('is one sheet of A4 or Letter for each yard of up to twelve cups, and would be found out if it were longer', () => {
    const long = ready(TWO).map((cup) => ({ ...cup, active: 'amitraz strip', lot: `L${cup.slot % 2}` }));
    expect([sheets(page(long), 'A4'), sheets(page(long), 'Letter')]).toEqual([2, 2]);
    const longer = page(long).replaceAll(
      '<p class="cut">',
      `${'<p>one more line</p>'.repeat(14)}<p class="cut">`,
    );
    expect(sheets(longer, 'Letter')).toBeGreaterThan(2);
  });

  it('is one sheet also where names are long, of which each row has a part', () => {
    const cups = ready(TWO).map((cup, index) => ({
      ...cup,
      colony: 'colony-with-name',
      active: 'amitraz strip of a long name 500 mg',
      lot: `LOT-2026-0007-${'AB'[index % 2]}`,
    }));
    expect([sheets(page(cups), 'A4'), sheets(page(cups), 'Letter')]).toEqual([2, 2]);
    const inFull = page(cups).replaceAll(
      /<b>arm \d<\/b>/g,
      '<b>amitraz strip of a long name, lot LOT-2026-0007-A</b>',
    );
    expect(sheets(inFull, 'Letter')).toBeGreaterThan(2);
  });

  it('is two sheets for a yard of twenty', () => {
    const cups = ready({ yards: [yard('alder-07', 20)] });
    expect(sheets(page(cups), 'Letter')).toBe(2);
    expect(page(cups)).toContain('Yard alder-07, sheet 2 of 2');
  });
});
