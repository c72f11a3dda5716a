import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { cupPage } from '../../src/screen/cupPage.js';
import { cupStories } from '../../src/screen/cupStories.js';
import { widthOf } from '../../src/screen/line.js';
import type { Fact } from '../../src/store/facts.js';
import { monotonicMs } from '../../src/units/time.js';
import { foldSeason } from '../../src/visit/season.js';
import { at, fillStore, label, readings, SEVEN, SHOWN_AT, storeInFolder, turned } from './invented.js';
import { texts } from './views.js';

let folder: ReturnType<typeof storeInFolder>;
beforeEach(() => {
  folder = storeInFolder();
  fillStore(folder.store);
});
afterEach(() => folder.remove());

const counted = (cup: string, tray: number | null, wash: number | null): Fact => ({
  type: 'cup-counted',
  cup: label(cup),
  at: at(400),
  tray,
  wash,
  bees: null,
});
const lines = (cup: string, size = { columns: 80, rows: 20 }, now = SHOWN_AT) => {
  const story = cupStories(folder.store, () => monotonicMs(0))(
    foldSeason(folder.store.facts()),
    label(cup),
    now,
  )!;
  return cupPage(story.shown, story.observations, story.history, story.ruling, 'C', size);
};
const page = (...given: Parameters<typeof lines>) => texts(lines(...given)).join('\n');
/** Cup 260512-03 goes on in the cold until it is turned. */
const turnCold = () =>
  folder.store.transaction(() => {
    folder.store.addReadings(readings('A', 3, 181.5, 244, () => 12.5));
    folder.store.append(SEVEN, turned('260512-03', 244));
  });

describe('cupPage()', () => {
  it('tells of a cup that rides: where, how it is doing, its trace, its entries', () => {
    expect(page('260512-03').split('\n')).toEqual([
      'Cup 260512-03, visit sedge-12-1 to yard sedge-12, colony c01, in slot A:3',
      '▼ cold  12.5°C, due in 63 min, turn 10:59 to 11:19',
      'Cold minutes at least 2, at most 5 (10 min allowed, 5 in one spell).',
      '  27.0°C│█████████████████████████████████████████████',
      '        │░',
      '        │░',
      '        │░',
      '        │░',
      '  15.6°C│░──────────────────────────────────────────────────────────────────────',
      '        │░',
      '  11.5°C│░                                            ██',
      '         08:04                            09:34                            11:04',
      'Entries: 08:04 loaded, 08:06 seated in A:3.',
      'Not turned yet. Turn and count every cup, ruled out or not.',
      'So far nothing rules it out.',
    ]);
  });

  it('shows time without a reading as such, and how old the last reading is', () => {
    const shown = page('260512-05');
    expect(shown).toContain('? no reading  27.5°C was read 4 min ago');
    expect(shown).toMatch(/█░+\n/);
  });

  it('says what would be said of a cup that rides, but not that it is too short as yet', () => {
    folder.store.transaction(() => folder.store.addReadings(readings('A', 3, 181.5, 190, () => 12.5)));
    const shown = page('260512-03', undefined, at(190));
    expect(shown).toMatch(/If it were turned now, this would be said of it:\ncold: at least 11/);
    expect(shown).not.toContain('short');
    expect(page('260512-01')).not.toContain('short');
  });

  it('shows neither trace nor ruling while a turned cup is not wholly read', () => {
    turnCold();
    for (const facts of [[], [counted('260512-03', 3, null)]]) {
      folder.store.append(SEVEN, ...facts);
      const shown = page('260512-03', undefined, at(420));
      expect(shown).not.toMatch(/█|│|Ruling|°C|\bcold\b/);
      expect(shown).toContain('shown when tray and wash are read');
      expect(shown).toContain('wash not read');
    }
    // Negative control: once both are read, all of it is told.
    folder.store.append(SEVEN, counted('260512-03', null, 2));
    const read = page('260512-03', undefined, at(420));
    expect(read).toContain('Ruling: cold. It was below the activation threshold for too long.');
    expect(read).toMatch(/^cold: at least 65/m);
    expect(read).toContain('█');
    expect(read).toContain('Tray 3, wash 2, bees not read.');
  });

  it('says of a valid cup that it counts', () => {
    folder.store.transaction(() => {
      folder.store.addReadings(readings('A', 1, 181.5, 240, () => 27.5));
      folder.store.append(SEVEN, turned('260512-01', 240), counted('260512-01', 3, 2));
    });
    expect(page('260512-01', undefined, at(420))).toContain(
      'Ruling: valid. Nothing rules it out: it counts.',
    );
  });

  it('tells a spoiled cup until it was spoiled, and why it was', () => {
    const why = folder.store.keepText('lid came off');
    folder.store.append(SEVEN, { type: 'cup-spoiled', cup: label('260512-03'), at: at(94), why });
    const shown = page('260512-03', undefined, at(420));
    // Spoiled a sixth of the way: what was read later is not drawn, though the cup still stands in its slot.
    expect(shown).toMatch(/│█{12}\n/);
    expect(shown).toContain('Ruling: spoiled.');
    expect(shown).toContain('spoiled: lid came off (exposure of 30 min)');
    expect(shown).toContain('Spoiled before it was turned');
    expect(shown).not.toMatch(/due in|late|Turn and count|12\.5/);
  });

  it('is never wider than asked for', () => {
    turnCold();
    folder.store.append(SEVEN, counted('260512-03', 3, 2));
    fc.assert(
      fc.property(
        fc.constantFrom('260512-01', '260512-03', '260512-05', '260512-06'),
        fc.integer({ min: 58, max: 200 }),
        fc.integer({ min: 1, max: 60 }),
        (cup, columns, rows) => {
          for (const line of lines(cup, { columns, rows }, at(420)))
            expect(widthOf(line)).toBeLessThanOrEqual(columns);
        },
      ),
      { numRuns: 20 },
    );
  });
});

describe('cupStories()', () => {
  it('reads a cup again after a while or when a fact is new, and knows no other cups', () => {
    let monotonic = 0;
    const storyOf = cupStories(folder.store, () => monotonicMs(monotonic));
    const season = foldSeason(folder.store.facts());
    const first = storyOf(season, label('260512-01'), SHOWN_AT);
    expect(storyOf(season, label('260512-01'), SHOWN_AT)).toBe(first);
    monotonic = 2000;
    expect(storyOf(season, label('260512-01'), SHOWN_AT)).not.toBe(first);
    expect(storyOf(foldSeason(folder.store.facts()), label('260512-01'), SHOWN_AT)).not.toBe(first);
    expect(storyOf(season, label('other'), SHOWN_AT)).toBeNull();
  });
});
