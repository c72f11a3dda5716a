import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CONTROLS } from '../../src/screen/controls.js';
import { CAUTION } from '../../src/screen/entry/panel.js';
import { liveFrame } from '../../src/screen/frame.js';
import { type Line, span, widthOf } from '../../src/screen/line.js';
import { pagesOf } from '../../src/screen/pages.js';
import { celsius } from '../../src/units/temperature.js';
import { durationMs } from '../../src/units/time.js';
import type { SlotView } from '../../src/visit/slots.js';
import { cupView, situation, slotView, texts, usualFrame } from './views.js';

const carrierOf = (carrier: string, count: number, alarm = false): SlotView[] =>
  Array.from({ length: count }, (_, i) =>
    slotView({
      carrier,
      slot: i + 1,
      cup: cupView({
        cup: `${carrier}-${i + 1}`,
        state: alarm
          ? { word: 'cold', alarm: { level: 'act-now', kind: 'cold', text: 'cold: warm the cabin' } }
          : {},
      }),
    }),
  );
const W80 = { columns: 80, rows: 24 };

describe('liveFrame()', () => {
  it('shows one carrier of twelve on a page of 80 x 24, the due list and the alarms of both', () => {
    const slots = [...carrierOf('A', 12), ...carrierOf('B', 12, true)];
    const lines = texts(usualFrame(situation({ slots }), CONTROLS, W80));
    expect(lines).toHaveLength(23);
    expect(lines[1]).toMatch(/^Carrier A .* last 30 min .* state .* left .*cold min$/);
    expect(lines[13]).toMatch(/^12 ○ A-12 .* warm .* 59 min .* 0\/10$/);
    expect(lines[14]).toBe('Due next. Turn and count every cup, ruled out or not. 23 more in the list.');
    expect(lines[15]).toMatch(/^in 59 min .*08:00, turn 07:55 to 08:15 {2}A:1 A-1 sedge-12$/);
    expect(lines[16]).toMatch(/^ACT NOW slots B:1, B:2, .*, B:12$/);
    expect(lines[17]).toMatch(/cold: warm the cabin$/);
    expect(lines.at(-1)).toContain('page 1/4');
  });

  it('shows all twelve slots of a carrier at 60 x 20, the next cup to be turned and an alarm', () => {
    const slots = carrierOf('A', 12, true);
    const lines = texts(usualFrame(situation({ slots }), CONTROLS, { columns: 60, rows: 20 }));
    expect(lines).toHaveLength(19);
    expect(lines[13]).toMatch(/^12 ▼ A-12 /);
    expect(lines[14]).toBe('Turn all, ruled out or not: A:1 08:00 (07:55-08:15) +11');
    expect(lines[15]).toBe('ACT NOW slot A:1 and 11 more cold: warm the cabin');
  });

  it('shows two carriers of twelve at once where there is room below or beside', () => {
    const slots = [...carrierOf('A', 12), ...carrierOf('B', 12)];
    const tall = texts(usualFrame(situation({ slots }), CONTROLS, { columns: 120, rows: 40 }));
    expect(tall.filter((line) => line.startsWith('Carrier'))).toHaveLength(2);
    const wide = texts(usualFrame(situation({ slots }), CONTROLS, { columns: 140, rows: 24 }));
    expect(wide[1]).toMatch(/^Carrier A .*Carrier B /);
    expect(wide[13]).toMatch(/^12 ○ A-12 .* 12 ○ B-12 /);
  });

  it('tells nothing of what is ruled in the due list, and lists every cup', () => {
    const views = carrierOf('A', 12).map((view, i) => ({
      ...view,
      cup: cupView({ cup: `A-${i + 1}`, state: { ruledAlready: i % 2 === 0 ? 'cold' : null } }),
    }));
    const given = situation({ slots: views, unseated: [cupView({ cup: 'loose' })] });
    const pages = pagesOf(given, W80).length;
    const list = texts(usualFrame(given, { ...CONTROLS, page: pages - 1 }, W80));
    expect(list[1]).toBe('In order of due. Turn and count every cup, ruled out or not.');
    const cups = list.filter((line) => line.includes(', turn '));
    expect(cups).toHaveLength(13);
    for (const line of cups) expect(line).not.toMatch(/ruled|cold|hot|valid|unproven/);
    expect(list.join()).toContain('not seated loose sedge-12');
  });

  it('tells below the due list which turned cups are not read', () => {
    const unread = [{ cup: '260512-01', colony: 'c01', yard: 'sedge-12', tray: true, wash: false }];
    const lines = texts(usualFrame(situation({ unread }), { ...CONTROLS, page: 9 }, W80));
    expect(lines).toContain('  tray read      wash not read  260512-01 c01 sedge-12');
  });

  it.each([
    [4, ['ACT NOW slot A:1 cold in about 4 min: warm the cabin or move', '        it inwards']],
    // Negative control: where every slot holds a cup, the cups stay and the words are cut.
    [0, ['ACT NOW slot A:1 cold in about 4 min: warm the cabin or mov…']],
  ])('tells what to do whole at 60 x 20 where %i slots are empty', (empty, expected) => {
    const text = 'cold in about 4 min: warm the cabin or move it inwards';
    const alarm = { level: 'act-now', kind: 'cold-soon', text } as const;
    const slots = Array.from({ length: 12 }, (_, i) =>
      slotView({
        slot: i + 1,
        cup: i >= 12 - empty ? null : cupView({ cup: `C-${i}`, state: i === 0 ? { alarm } : {} }),
      }),
    );
    const panel: Line[] = [1, 2, 3].map((row) => [span(`panel ${row}`)]);
    const lines = texts(liveFrame(situation({ slots }), CONTROLS, { columns: 60, rows: 20 }, panel));
    const from = lines.findIndex((line) => line.startsWith('ACT NOW'));
    expect(lines.slice(from, from + expected.length)).toEqual(expected);
  });

  it('turns pages when there are more carriers than columns, and shows every slot on one of them', () => {
    const slots = ['A', 'B', 'C', 'D', 'E'].flatMap((name) => carrierOf(name, 16));
    for (const size of [W80, { columns: 60, rows: 18 }, { columns: 200, rows: 20 }]) {
      const pages = pagesOf(situation({ slots }), size).length;
      const all = Array.from({ length: pages }, (_, page) =>
        texts(usualFrame(situation({ slots }), { ...CONTROLS, page }, size)).join('\n'),
      ).join('\n');
      for (const { cup } of slots) expect(all).toMatch(new RegExp(` ${cup!.cup.cup} `));
    }
  });

  it('shows the last page when the page asked for is gone', () => {
    const slots = carrierOf('A', 10);
    const last = pagesOf(situation({ slots }), W80).length - 1;
    const shown = (page: number) => usualFrame(situation({ slots }), { ...CONTROLS, page }, W80);
    expect(texts(shown(9)).slice(0, -1)).toEqual(texts(shown(last)).slice(0, -1));
  });

  it('says loudly that the logger is silent, and does not while it is alive', () => {
    const logger = { silent: true, words: 'no sign of the logger for 40 s' };
    const dead = texts(usualFrame(situation({ logger }), CONTROLS, W80));
    expect(dead[0]).toMatch(/no sign of the logger for 40 s$/);
    expect(dead.join('\n')).toMatch(/^ACT NOW no sign of the logger for 40 s: start it again$/m);
    expect(texts(usualFrame(situation(), CONTROLS, W80)).join('\n')).not.toMatch(/no sign|ACT NOW/);
  });

  it('says that the picture is old', () => {
    const lines = texts(usualFrame(situation({ problem: 'This screen is old: disk gone' }), CONTROLS, W80));
    expect(lines).toContain('This screen is old: disk gone');
  });

  it('says so when there is nothing to show yet', () => {
    expect(texts(usualFrame(situation(), CONTROLS, W80))).toContain('No carrier has a probe or a cup yet.');
  });

  const word = fc.constantFrom('warm', 'near cold', 'cold', 'near hot', 'hot', 'no reading', 'not seated');
  const cups = fc.record({
    cup: fc.stringMatching(/^[A-Za-z0-9][A-Za-z0-9._-]{0,31}$/),
    spoiled: fc.boolean(),
    state: fc.record({
      word: word as fc.Arbitrary<'warm'>,
      latest: fc.option(
        fc
          .double({ min: -20, max: 60, noNaN: true })
          .map((d) => ({ celsius: celsius(d), age: durationMs(0) })),
      ),
      ruledAlready: fc.constantFrom(null, 'cold' as const, 'hot' as const),
      minutesToDue: fc.double({ min: -5000, max: 5000, noNaN: true }),
      alarm: fc.option(
        fc.record({
          level: fc.constantFrom('act-now' as const, 'due' as const),
          kind: fc.constantFrom('cold' as const, 'turn' as const),
          text: fc.string({ maxLength: 90 }),
        }),
      ),
    }),
  });
  const slots = fc.array(
    fc.record({
      carrier: fc.constantFrom('A', 'B', 'the-carrier-with-a-long-name-32', 'D'),
      slot: fc.integer({ min: 1, max: 16 }),
      cup: fc.option(cups.map(cupView)),
    }),
    { maxLength: 64 },
  );

  it('is never wider or higher than the window and always carries the caution', () => {
    fc.assert(
      fc.property(
        slots,
        fc.array(cups.map(cupView), { maxLength: 9 }),
        fc.integer({ min: 60, max: 200 }),
        fc.integer({ min: 18, max: 60 }),
        fc.record({
          unit: fc.constantFrom('C' as const, 'F' as const),
          muted: fc.boolean(),
          page: fc.nat(9),
          scroll: fc.nat(9),
          theme: fc.constantFrom('shade' as const, 'sun' as const),
          acknowledged: fc.constant(new Set<string>()),
        }),
        fc.boolean(),
        fc.option(fc.string({ maxLength: 300 })),
        (views, unseated, columns, rows, controls, silent, problem) => {
          const given = situation({
            slots: views.map((view) => slotView(view)),
            unseated,
            logger: { silent, words: silent ? 'no sign of the logger for 40 s' : 'logging' },
            problem,
          });
          const lines = usualFrame(given, controls, { columns, rows });
          expect(lines.length).toBeLessThanOrEqual(rows - 1);
          for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(columns);
          expect(texts(lines).join('\n')).toContain(CAUTION);
          if (silent) expect(texts(lines).join('\n')).toContain('ACT NOW');
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('liveFrame() with a panel', () => {
  it('tells what to do whole where slots are covered in any case', () => {
    const slots = carrierOf('A', 12, true).map((view) => ({
      ...view,
      cup: cupView({
        cup: `A-${view.slot}`,
        state: {
          alarm: {
            level: 'act-now',
            kind: 'cold',
            text: 'cold, lost in about 1 min: warm the cabin or move it inwards',
          },
        },
      }),
    }));
    const lines = texts(liveFrame(situation({ slots }), CONTROLS, { columns: 60, rows: 20 }, panel(10)));
    expect(lines.join(' ').replaceAll(/ +/g, ' ')).toContain('warm the cabin or move it inwards');
  });

  const panel = (count: number): Line[] => Array.from({ length: count }, (_, i) => [span(`panel ${i + 1}`)]);

  it('puts the panel at the bottom as it is', () => {
    const lines = texts(liveFrame(situation({ slots: carrierOf('A', 12, true) }), CONTROLS, W80, panel(9)));
    expect(lines).toHaveLength(23);
    expect(lines.slice(-9)).toEqual(texts(panel(9)));
  });

  it('turns no pages for a panel that grows for a while, and covers the quiet slots first', () => {
    const slots = carrierOf('A', 12).map((view, i) =>
      i < 11 ? view : { ...view, cup: carrierOf('A', 12, true)[i]!.cup },
    );
    const given = situation({ slots });
    const lines = texts(liveFrame(given, CONTROLS, W80, panel(12)));
    expect(lines.join('\n')).toMatch(/^12 ▼ A-12 /m);
    const shown = lines.filter((line) => / A-\d+ .* min /.test(line) && line.includes('warm  ')).length + 1;
    expect(lines.join('\n')).toContain(`and ${12 - shown} more slots, covered for now`);
  });

  it('keeps to the window whatever the panel', () => {
    fc.assert(
      fc.property(
        fc.array(fc.string({ maxLength: 200 }), { maxLength: 40 }),
        fc.integer({ min: 60, max: 120 }),
        fc.integer({ min: 18, max: 40 }),
        (words, columns, rows) => {
          const given = words.map((text): Line => [span(text)]);
          const lines = liveFrame(
            situation({ slots: carrierOf('A', 12) }),
            CONTROLS,
            { columns, rows },
            given,
          );
          expect(lines.length).toBeLessThanOrEqual(rows - 1);
          for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(columns);
        },
      ),
    );
  });
});
