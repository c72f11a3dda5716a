import { describe, expect, it } from 'vitest';
import { labPage } from '../../../src/report/lab/labPage.js';
import { materialOf } from '../../../src/report/lab/material.js';
import { beekeeperFile, LEFT_OUT, labFile } from '../../../src/report/reportFiles.js';
import type { Store } from '../../../src/store/store.js';
import { parseBoardId, parseCarrierId, parseVisitId } from '../../../src/units/ids.js';
import { record } from '../../../src/visit/record.js';
import { eachInNewStore } from '../../visit/newStore.js';
import { corrects, inventedRom, label, loads, minute, rewashes } from '../../visit/situation.js';
import { textOf } from '../beekeeper/pageOf.js';
import { DIFFICULT } from '../difficultYards.js';
import { AFTERWARDS, cupsWith, type InventedYard, inventYards, visitsIn } from '../inventedYards.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

function pageFrom(yards: readonly InventedYard[], isFinal = false): string {
  inventYards(store, yards);
  const { season, visits } = visitsIn(store);
  return labPage(materialOf(store, season, visits[0]!, AFTERWARDS, '0.0.0', isFinal));
}

const SIX = cupsWith([5, 3], [2, 4], [8, 1], [3, 3], [6, 2], [4, 1]);
/** A cup that was cold for a while, one whose dip lasts one reading, one whose probe was silent for four minutes. */
const TROUBLED: InventedYard = {
  yard: 'alder-07',
  cups: [
    ...SIX,
    { tray: 1, wash: 8, celsius: (at) => (at > 60 && at < 100 ? 9 : 30) },
    { tray: 4, wash: 4, celsius: (at) => (at === 90 ? 12.3125 : 30) },
    { tray: 0, wash: 9, kind: 'no-strip', silent: [50, 54] },
  ],
};

describe('labPage()', () => {
  it('opens with a sentence and the trace of every cup, each told in words too', () => {
    const page = pageFrom([TROUBLED]);
    expect(textOf(page)).toMatch(
      /7 of 8 strip cups used, 1 ruled out: pooled raw efficacy [\d.]+ % \(.*\), \w+.* the 70 % line\./,
    );
    const alts = [...page.matchAll(/<svg[^>]*aria-label="([^"]*)"/g)].map(([, alt]) => alt!);
    expect(alts.filter((alt) => alt.startsWith('Temperature of cup'))).toHaveLength(9);
    expect(alts.find((alt) => alt.includes('ald-07'))).toMatch(/lowest 9\.0, .*ruled cold\. cold: at least/);
    expect(page.indexOf('<svg')).toBeLessThan(page.indexOf('<table'));
    expect(alts.every((alt) => alt.length > 20)).toBe(true);
  });

  it('draws a dip of one reading to its depth', () => {
    const yOf = (page: string) => {
      const drawn = page.slice(page.indexOf('Temperature of cup ald-08'));
      const path = /<path d="M([^"]*)"/.exec(drawn.slice(0, drawn.indexOf('</svg>')))![1]!;
      return path.split('L').map((point) => Number(point.split(',')[1]));
    };
    const ys = yOf(pageFrom([TROUBLED]));
    const typical = ys.toSorted((a, b) => a - b)[Math.floor(ys.length / 2)]!;
    // 17.7 degrees of a range of 35 (7 to 42) on 94 pixels: plain arithmetic.
    expect(Math.max(...ys) - typical).toBeCloseTo((17.6875 / 35) * 94, 0);
  });

  it('tells rulings with their bounds and reasons, and gaps', () => {
    const text = textOf(pageFrom([TROUBLED]));
    // Below 15.556 - 0.858 from minute 60.73 to 99.27, below 15.556 + 0.858 from 60.65 to 99.35: plain arithmetic.
    expect(text).toMatch(/ald-07 cold 180\.0 180\.0 38\.5 – 38\.7 /);
    expect(text).toMatch(/ald-07 cold: at least 3[89]/);
    expect(text).toMatch(/ald-09 2026-05-12T12:50:00\+00:00 2026-05-12T12:54:00\+00:00 4\.0 /);
    expect(text).toMatch(/A:1 28-01-00-0C-3A-00-00-[0-9A-F]{2} – none none 0\.858/);
  });

  it('tells what other thresholds would make of the answer, neighbours that change nothing as one', () => {
    // 54 of 60 mites fell in warm cups, 3 of 30 in three that had 17 degC for 40 min.
    const cups = [
      ...cupsWith(...Array.from({ length: 6 }, () => [9, 1] as const)),
      ...cupsWith([1, 9], [1, 9], [1, 9]).map((cup) => ({
        ...cup,
        celsius: (at: number) => (at > 60 && at < 100 ? 17 : 30),
      })),
    ];
    const text = textOf(pageFrom([{ yard: 'alder-07', cups }]));
    const rows = text
      .slice(text.indexOf('What hangs'), text.indexOf('Calibration'))
      .match(/^ *\d\d\.56.*$/gm)!;
    const told = rows.map((row) =>
      row
        .trim()

        .replace(/ \d[\d.]+ to \d[\d.]+ %/, ''),
    );
    const [all, warm] = ['9 of 9 63.3 % undecided about the 70 % line', '6 of 9 90.0 % above the 70 % line'];
    // U is 0.858: possibly cold below a threshold of 17 + U, certainly from 17 + U on, plain arithmetic; 57 of 90 and 54 of 60.
    const others = (ruling: string) =>
      ['07', '08', '09'].map((cup) => `ald-${cup} valid → ${ruling}`).join(', ');
    expect(told).toEqual([
      `11.56 to 15.56, in force as stated ${all} none`,
      `16.56 to 17.56 as stated ${warm} ${others('unproven')}`,
      `18.56 to 19.56 as stated ${warm} ${others('cold')}`,
      `11.56 to 16.56, in force 0 ${all} none`,
      `17.56 to 19.56 0 ${warm} ${others('cold')}`,
    ]);
    expect(text).toContain('The verdict about the 70 % line hangs on it');
  });

  it('says that the answer does not hang on the threshold where it does not', () => {
    // Negative control of the test above.
    const text = textOf(pageFrom([{ yard: 'alder-07', cups: SIX }]));
    expect(text).toContain('Under none of them is the verdict about the 70 % line another one.');
  });

  it('keeps an overruled cup as it is under every threshold', () => {
    inventYards(store, [TROUBLED]);
    const why = store.keepText('a draught');
    record(store, AFTERWARDS, () => [
      { type: 'cup-overruled', cup: label('ald-07'), ruling: 'valid', why, at: minute(595) },
    ]);
    expect(textOf(pageFrom([]))).toMatch(/11\.56 to 19\.56, in force as stated 8 of 8 /);
  });

  it('tells boots, warnings and corrections in words and in the time of the yard', () => {
    inventYards(store, [{ ...TROUBLED, zone: 'Etc/GMT-2' }]);
    const board = parseBoardId('0A1B2C3D')!;
    const who = store.keepText('the one who washed');
    record(store, AFTERWARDS, () => [
      { type: 'board-bound', carrier: parseCarrierId('A')!, board, at: minute(0) },
      {
        type: 'board-booted',
        board,
        boot: 3,
        firmware: '1.2',
        resetCause: 'brown-out',
        clock: 'stopped',
        at: minute(10),
      } as Parameters<Store['append']>[1],
      { type: 'board-warned', board, boot: 3, warning: 'probe-lost', detail: 0, at: minute(50) },
      {
        type: 'clock-compared',
        board,
        boot: 3,
        boardMs: 9000,
        differenceMs: -1500,
        at: minute(60),
      } as Parameters<Store['append']>[1],
      { type: 'cup-overruled', cup: label('ald-07'), ruling: 'valid', why: who, who, at: minute(595) },
    ]);
    const text = textOf(pageFrom([]));
    // Its table of probes is not on record.
    expect(text).toContain('boot 3: its supply had sagged; firmware 1.2, its clock had lost its time');
    expect(text).toContain('boot 3: probe 0 of its table stopped answering');
    expect(text).toContain("the board's clock was 1.5 s behind the host's");
    expect(text).toContain('by the word of the one who washed at 2026-05-12T23:55:00+02:00, after');
    // Codes, UTC and figures without unit are gone.
    expect(text).not.toMatch(/probe-lost|brown-out|\d\.\d{3}Z/);
    expect(text).toMatch(/min °C mean °C kinetic mean °C max °C °C min below threshold U °C/);
  });

  it('names the slot whose probe stopped answering, and the cup of this visit that was in it, if any', () => {
    inventYards(store, [{ yard: 'alder-07', cups: SIX }]);
    const board = parseBoardId('0A1B2C3D')!;
    const carrier = parseCarrierId('A')!;
    const spare = inventedRom(70);
    const first = visitsIn(store).season.carriers.get(carrier)!.slots.get(1)![0]!.rom!;
    const lost = (detail: number, at: number) =>
      ({ type: 'board-warned', board, boot: 3, warning: 'probe-lost', detail, at: minute(at) }) as const;
    record(store, AFTERWARDS, () => [
      { type: 'board-bound', carrier, board, at: minute(0) },
      { type: 'probe-assigned', carrier, slot: 12, rom: spare, at: minute(0) },
      {
        type: 'probes-found',
        board,
        boot: 3,
        table: 1,
        // In the order in which they answered, which is not that of the slots.
        probes: [
          { index: 0, rom: spare },
          { index: 5, rom: first },
          { index: 6, rom: inventedRom(71) },
        ],
        at: minute(0),
      },
      ...[lost(0, 50), lost(5, 50), lost(5, 300), lost(6, 50), lost(7, 50)],
    ]);
    const text = textOf(pageFrom([]));
    const said = [...text.matchAll(/boot 3: (.* stopped answering.*)/g)].map(([, words]) => words!.trim());
    expect(said).toEqual([
      `slot A:12, whose probe is ${spare}, stopped answering; no cup of this visit was in it then`,
      `slot A:1, whose probe is ${first}, stopped answering; cup ald-01 was in it`,
      // Turned after 180 min, so it was no longer there.
      `slot A:1, whose probe is ${first}, stopped answering; no cup of this visit was in it then`,
      `probe ${inventedRom(71)} stopped answering; it was in no slot on record`,
      // Negative control: an index that the table does not have is told as the board told it.
      'probe 7 of its table stopped answering',
    ]);
  });

  it('says that traces are less an offset only where one is known', () => {
    const text = textOf(pageFrom([TROUBLED]));
    expect(text).toContain('less the offset of each probe where one is known');
    expect(text).not.toContain('corrected by ice checks');
    // Nothing of this yard was checked in ice, as its table says.
    expect(text).toMatch(/A:1 28-01-00-0C-3A-00-00-[0-9A-F]{2} – none none/);
  });

  it('puts paper behind the words in a trace, for a grid line may run through them', () => {
    const words = pageFrom([TROUBLED]).match(/<text[^>]*>(?:threshold|hot)<\/text>/g)!;
    expect(words).toHaveLength(18);
    for (const word of words) expect(word).toMatch(/stroke="#ffffff" .*paint-order="stroke"/);
  });

  it('says "None" where no cup was seated, in place of a table of heads alone', () => {
    inventYards(store, [{ yard: 'alder-07', cups: [] }]);
    record(store, AFTERWARDS, () => [
      { ...loads('ald-01', 5), visit: parseVisitId('alder-07')! } as Parameters<Store['append']>[1],
    ]);
    const page = pageFrom([], true);
    expect(textOf(page)).toMatch(/Calibration and lag\s+None: no cup was seated/);
    expect(page).not.toContain('aria-label="Probes"');
    expect(page).not.toMatch(/<tbody>\s*<\/tbody>/);
  });

  it('sets raw and corrected figures side by side, with and without what was ruled out', () => {
    inventYards(store, [TROUBLED]);
    record(store, AFTERWARDS, () => [rewashes('ald-01', 580, 1)]);
    const text = textOf(pageFrom([]));
    const rows = [
      'raw, cups that count',
      'raw, ruled out as well',
      'corrected, natural fall',
      'corrected, missed survivors',
    ];
    for (const row of rows) expect(text).toMatch(new RegExp(`${row} [\\d.]+ % `));
    // 3 mites in the first and 1 in the second wash of one cup.
    expect(text).toContain('a first wash finds 75.0 % (');
    expect(text).toContain('Raw holds the 1 mite that later washes of 1 cup found, too.');
  });

  it.each([
    // 9+8+10+7+11 = 45 on trays, 3 in first and 10 in later washes: q = 3/13, 45/(45 + 3/q) = 45/58 = 77.6 %, as raw, by
    // hand. The limits computed by SciPy 1.17.1: clustered Wilson on the first washes, Wilson on q, squares on the logit.
    {
      cups: cupsWith([9, 1], [8, 0], [10, 1], [7, 1], [11, 0]),
      again: [2, 2, 2, 2, 2],
      raw: '77.6 %',
      corrected: '77.6 % 35.7 to 95.0 %',
    },
    // One of seven cups again: 32 on trays, 18 in first washes, q = 3/4: 32/(32 + 18/q) = 32/56 = 57.1 %; raw with the later
    // wash 32/51 = 62.7 %, by hand. Limits as above, SciPy 1.17.1.
    { cups: [...SIX, ...cupsWith([4, 4])], again: [1], raw: '62.7 %', corrected: '57.1 % 28.8 to 74.9 %' },
    // A third wash is a later one: 3 of 15 found at first, 45/(45 + 15) = 75.0 %, as raw, by hand.
    {
      cups: cupsWith([9, 1], [8, 0], [10, 1], [7, 1], [11, 0]),
      again: [2, 2, 2, 2, 2, 2],
      raw: '75.0 %',
      corrected: '75.0 % ',
    },
  ])('divides first washes alone by what a first wash finds: $again', ({ cups, again, raw, corrected }) => {
    inventYards(store, [{ yard: 'alder-07', cups }]);
    record(store, AFTERWARDS, () =>
      again.map((mites, index) => rewashes(`ald-0${(index % cups.length) + 1}`, 580, mites)),
    );
    const text = textOf(pageFrom([]));
    expect(text).toContain(`raw, cups that count ${raw}`);
    expect(text).toContain(`corrected, missed survivors ${corrected}`);
  });

  it('says nothing of later washes where there are none', () => {
    // Negative control of the two tests above.
    const text = textOf(pageFrom([TROUBLED]));
    expect(text).not.toMatch(/missed survivors [\d.]|later wash(?:es)? of/);
  });

  it('tells the level of its intervals, the wider one after two looks as well', () => {
    const text = textOf(pageFrom([{ ...TROUBLED, declared: 8 }]));
    // 1 - 0.05 / 2 = 0.975: Bonferroni, docs/statistics.md "Looking more than once".
    expect(text).toMatch(/pooled raw efficacy [\d.]+.% \(97\.5 % interval /);
    expect(text).toContain('figure efficacy 97.5 % interval');
    expect(text).toContain('Intervals of 95 %.');
  });

  it('says who changed what, when and why, and tells the result without overrules', () => {
    inventYards(store, [TROUBLED]);
    const who = store.keepText('the one who washed');
    const why = store.keepText('a <mite> was dust');
    record(store, AFTERWARDS, () => [
      { ...corrects('ald-01', 590, 5, 4), why, who } as Parameters<Store['append']>[1],
      { type: 'cup-overruled', cup: label('ald-07'), ruling: 'valid', why, who, at: minute(595) },
    ]);
    const page = pageFrom([]);
    const text = textOf(page);
    expect(page).not.toContain('<mite>');
    expect(text).toContain(
      'ald-01 tray from 5 to 4, by the one who washed at 2026-05-12T21:50:00+00:00: a <mite> was dust',
    );
    expect(text).toMatch(
      /ald-07 remark: overruled: counts as valid by the word of the one who washed .*after its mites were counted/,
    );
    expect(text).toMatch(/ald-07 cold ; overruled: valid/);
    // At first 28 + 4 + 1 on trays and 14 + 4 + 8 washed off, the overruled cup last; then one tray a mite less, by hand.
    expect(text).toMatch(/raw, without overrules .* no ruling changed by people: /);
    expect(text).toMatch(
      /raw, counts as first entered .* 1 count of mites corrected or withdrawn since; 33 on trays, 26 washed off: /,
    );
    // 28 + 4 of 28 + 4 + 14 + 4 mites, 64.0 %: without the overruled cup and the correction, by hand.
    expect(text).toMatch(
      /raw, without either 64\.0 % .* no ruling changed by people, counts as first entered: /,
    );
    expect(text).toMatch(/raw, cups that count .* 8 cups, 32 on trays, 26 washed off: /);
    expect(text).not.toContain('nothing changed by people');
    const { season, visits } = visitsIn(store);
    const options = { now: AFTERWARDS, version: '0.0.0', withPeople: false };
    const files = [
      beekeeperFile(store, season, visits, options),
      labFile(store, season, visits[0]!, options),
    ];
    expect(files.map(({ path }) => path)).toEqual(['reports/beekeeper.html', 'reports/lab-alder-07.html']);
    expect(files[1]!.text).toContain(LEFT_OUT);
    for (const words of ['the one who washed', 'was dust']) {
      expect(files.some((file) => file.text.includes(words))).toBe(false);
      // Negative control: they are told when that is asked for.
      expect(labFile(store, season, visits[0]!, { ...options, withPeople: true }).text).toContain(words);
    }
  });

  it('tells no other counts where none was corrected', () => {
    // Negative control of the test above.
    expect(textOf(pageFrom([TROUBLED]))).not.toMatch(/first entered|without overrules|without either/);
  });

  it('ends with rule set, versions, and the head of the chain', () => {
    const page = pageFrom([TROUBLED]);
    const { count, hash } = store.head();
    expect(textOf(page)).toContain(`${count} ${hash}`);
    expect(page).toContain('thresholdCelsius');
    expect(page).toContain('by stillwarm 0.0.0');
  });

  it.each(['no mites', 'one cup', 'all ruled out', 'long labels', 'no strip', 'provisional'])(
    'bears %s',
    (name) => {
      const page = pageFrom(DIFFICULT[name]!);
      expect(page).not.toMatch(/NaN|undefined|Infinity|\[object/);
      expect(page).not.toContain('<b>"Queen');
      expect(page.includes('Whoever counts must not know')).toBe(name === 'provisional');
    },
  );

  it('tells whoever still counts nothing but what was counted', () => {
    const cups = [...TROUBLED.cups, { tray: 3, wash: null }, { turned: null }];
    const blind = textOf(pageFrom([{ yard: 'alder-07', cups }]));
    expect(blind).toContain('2 cups are not fully counted (ald-10, ald-11)');
    expect(blind).toMatch(/ald-07 c7 – amitraz strip, L7 1 8 300 –/);
    const TOLD =
      /\bcold\b(?! at most)|\bvalid\b|\bhot\b|unproven|\d\.\d.%|degree-min|Temperature of cup|2026-05-12T12:5/;
    expect(blind.slice(0, blind.indexOf('Rule set'))).not.toMatch(TOLD);
    const { season, visits } = visitsIn(store);
    const making = { now: AFTERWARDS, version: '0.0.0', withPeople: true };
    expect(labFile(store, season, visits[0]!, making).text).not.toMatch(/Temperature of cup|<svg/);
    // Negative control: they are told to somebody who does not count.
    const whole = pageFrom([], true);
    expect(textOf(whole)).toMatch(TOLD);
    expect(whole).toContain('Temperature of cup ald-07');
    expect(textOf(whole)).toContain('Whoever still counts must not read it');
    expect(whole).not.toMatch(/NaN|undefined|Infinity|\[object/);
  });

  it('bears a visit without a cup', () => {
    expect(pageFrom([{ yard: 'alder-07', cups: [] }])).not.toMatch(/NaN|undefined|Infinity/);
  });
});
