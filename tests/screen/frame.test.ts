import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CONTROLS } from '../../src/screen/controls.js';
import {
  CAUTION,
  canvas,
  liveFrame,
  pageCount,
  resultRows,
  resultsFrame,
  type Situation,
} from '../../src/screen/frame.js';
import { type Line, span, widthOf } from '../../src/screen/line.js';
import { alarmRows } from '../../src/screen/view.js';
import { celsius } from '../../src/units/temperature.js';
import { durationMs } from '../../src/units/time.js';
import type { SlotView } from '../../src/visit/slots.js';
import { cupView, slotView } from './views.js';

const ALIVE = { silent: false, words: 'logging' };
const texts = (lines: readonly Line[]) =>
  lines.map((line) =>
    line
      .map(({ text }) => text)
      .join('')
      .trimEnd(),
  );
const situation = (given: Partial<Situation> = {}): Situation => {
  const slots = given.slots ?? [];
  const unseated = given.unseated ?? [];
  const logger = given.logger ?? ALIVE;
  return {
    title: 'stillwarm',
    clock: '07:00:00 UTC',
    logger,
    slots,
    unseated,
    alarms: alarmRows(slots, unseated, logger),
    problem: null,
    ...given,
  };
};
const carrierOf = (carrier: string, count: number, alarm = false): SlotView[] =>
  Array.from({ length: count }, (_, i) =>
    slotView({
      carrier,
      slot: i + 1,
      cup: cupView({
        cup: `${carrier}-${i + 1}`,
        state: alarm ? { word: 'cold', alarm: { level: 'act-now', text: 'cold: warm now' } } : {},
      }),
    }),
  );
const W80 = { columns: 80, rows: 24 };

describe('liveFrame()', () => {
  it('shows two carriers of ten slots side by side at 80 x 24', () => {
    const lines = texts(
      liveFrame(situation({ slots: [...carrierOf('A', 10), ...carrierOf('B', 10)] }), CONTROLS, W80),
    );
    expect(lines).toHaveLength(23);
    expect(lines[2]).toBe('Carrier A                                Carrier B');
    expect(lines[12]).toMatch(/^10 A-10 .* 10 B-10 /);
    expect(lines.at(-1)).toContain('page 1/1');
  });

  it('counts the alarms that do not fit', () => {
    const slots = [...carrierOf('A', 10, true), ...carrierOf('B', 10, true)];
    const lines = texts(liveFrame(situation({ slots }), CONTROLS, W80));
    const shown = lines.filter((line) => line.startsWith('ACT NOW')).length;
    expect(shown).toBeGreaterThan(5);
    expect(lines).toContain(`and ${20 - shown} more`);
  });

  it('turns pages when there are more carriers than columns, and shows every slot on one of them', () => {
    const slots = ['A', 'B', 'C', 'D', 'E'].flatMap((name) => carrierOf(name, 16));
    for (const size of [W80, { columns: 60, rows: 18 }, { columns: 200, rows: 20 }]) {
      const pages = pageCount(situation({ slots }), CONTROLS, size);
      const all = Array.from({ length: pages }, (_, page) =>
        texts(liveFrame(situation({ slots }), { ...CONTROLS, page }, size)).join('\n'),
      ).join('\n');
      for (const { cup } of slots) expect(all).toMatch(new RegExp(` ${cup!.cup.cup} `));
    }
  });

  it('shows the last page when the page asked for is gone', () => {
    const slots = carrierOf('A', 10);
    expect(liveFrame(situation({ slots }), { ...CONTROLS, page: 5 }, W80)).toEqual(
      liveFrame(situation({ slots }), CONTROLS, W80),
    );
  });

  it('says loudly that the logger is silent, and does not while it is alive', () => {
    const logger = { silent: true, words: 'no sign of the logger for 40 s' };
    const dead = texts(liveFrame(situation({ logger }), CONTROLS, W80));
    expect(dead[0]).toMatch(/no sign of the logger for 40 s$/);
    expect(dead.join('\n')).toMatch(/^ACT NOW .*no sign of the logger for 40 s: start it again$/m);
    expect(texts(liveFrame(situation(), CONTROLS, W80)).join('\n')).not.toMatch(/no sign|ACT NOW/);
  });

  it('says that the picture is old', () => {
    const lines = texts(liveFrame(situation({ problem: 'This picture is old: disk gone' }), CONTROLS, W80));
    expect(lines).toContain('This picture is old: disk gone');
  });

  it('says so when there is nothing to show yet', () => {
    expect(texts(liveFrame(situation(), CONTROLS, W80))).toContain('No carrier has a probe or a cup yet.');
  });

  it('leaves the yard out before it cuts what to do', () => {
    const slots = carrierOf('A', 1, true).map((view) => ({
      ...view,
      cup: cupView({
        cup: '260512-01',
        state: { alarm: { level: 'act-now', text: 'cold: ruled out in 2.3 min, warm now' } },
      }),
    }));
    const lines = texts(liveFrame(situation({ slots }), CONTROLS, { columns: 60, rows: 24 }));
    expect(lines).toContain('ACT NOW A:1 260512-01 cold: ruled out in 2.3 min, warm now');
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
          const lines = liveFrame(given, controls, { columns, rows });
          expect(lines.length).toBeLessThanOrEqual(rows - 1);
          for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(columns);
          expect(texts(lines).at(-1)).toContain(CAUTION);
          if (silent) expect(texts(lines).join('\n')).toContain('ACT NOW');
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('liveFrame() with a panel', () => {
  const panel = (count: number): Line[] => Array.from({ length: count }, (_, i) => [span(`panel ${i + 1}`)]);

  it('puts the panel at the bottom as it is, in place of the keys', () => {
    const lines = texts(liveFrame(situation({ slots: carrierOf('A', 12, true) }), CONTROLS, W80, panel(9)));
    expect(lines).toHaveLength(23);
    expect(lines.slice(-9)).toEqual(texts(panel(9)));
    expect(lines.join()).not.toContain(CAUTION);
  });

  it('leaves every slot on one of the pages', () => {
    const slots = carrierOf('A', 12, true);
    const pages = pageCount(situation({ slots }), CONTROLS, W80, panel(12));
    const all = Array.from({ length: pages }, (_, page) =>
      texts(liveFrame(situation({ slots }), { ...CONTROLS, page }, W80, panel(12))).join('\n'),
    ).join('\n');
    for (const { cup } of slots) expect(all).toMatch(new RegExp(` ${cup!.cup.cup} `));
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

describe('resultsFrame()', () => {
  const lines = Array.from({ length: 40 }, (_, i) => `result ${i + 1}`);

  it('shows as many lines as fit, from where people have scrolled to', () => {
    const shown = texts(resultsFrame('title', lines, { ...CONTROLS, scroll: 5 }, W80));
    expect(shown).toHaveLength(23);
    expect(shown[1]).toBe('result 6');
    expect(shown.at(-1)).toBe('q or Enter: done  up/down lines 6 to 26 of 40');
    expect(resultRows(W80)).toBe(21);
  });

  it('shows the end when people have scrolled past it', () => {
    expect(texts(resultsFrame('title', lines, { ...CONTROLS, scroll: 500 }, W80)).at(-2)).toBe('result 40');
  });

  it('speaks of no lines when all fit', () => {
    expect(texts(resultsFrame('title', ['one'], CONTROLS, W80))).toEqual([
      'title',
      'one',
      'q or Enter: done',
    ]);
  });

  it('is never wider or higher than the window', () => {
    fc.assert(
      fc.property(
        fc.array(fc.string({ maxLength: 300 }), { maxLength: 80 }),
        fc.integer({ min: 1, max: 200 }),
        fc.integer({ min: 2, max: 60 }),
        fc.nat(100),
        (texts, columns, rows, scroll) => {
          const frame = resultsFrame('a title', texts, { ...CONTROLS, scroll }, { columns, rows });
          expect(frame.length).toBeLessThanOrEqual(canvas({ columns, rows }).rows);
          for (const line of frame) expect(widthOf(line)).toBeLessThanOrEqual(columns);
        },
      ),
    );
  });
});
