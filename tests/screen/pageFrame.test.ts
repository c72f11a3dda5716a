import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CONTROLS } from '../../src/screen/controls.js';
import { type Line, span, widthOf, wrapped } from '../../src/screen/line.js';
import { pageFrame, pageRows } from '../../src/screen/pageFrame.js';
import { canvas } from '../../src/screen/size.js';
import { cupView, situation, slotView, texts } from './views.js';

const W80 = { columns: 80, rows: 24 };
const PANEL: readonly Line[] = [[span('q or Enter: done')]];
const lines = Array.from({ length: 40 }, (_, i): Line => [span(`result ${i + 1}`)]);
const cold = { level: 'act-now', kind: 'cold', text: 'cold: warm the cabin' } as const;
const { alarms } = situation({ slots: [slotView({ cup: cupView({ cup: 'A-1', state: { alarm: cold } }) })] });

describe('pageFrame()', () => {
  it('shows as many lines as fit, from where people have scrolled to', () => {
    const shown = texts(pageFrame('title', lines, [], { ...CONTROLS, scroll: 5 }, W80, PANEL));
    expect(shown).toHaveLength(23);
    expect(shown[0]).toMatch(/^title {38}- more, up, down: lines 6 to 24 of 40$/);
    expect(shown[1]).toBe('result 6');
    expect(shown.at(-1)).toBe('q or Enter: done');
    expect(pageRows(W80, PANEL)).toBe(19);
  });

  it('shows the end when people have scrolled past it', () => {
    const shown = texts(pageFrame('title', lines, [], { ...CONTROLS, scroll: 500 }, W80, PANEL));
    expect(shown[19]).toBe('result 40');
  });

  it('speaks of no lines when all fit, and tells the alarms above the panel', () => {
    const shown = (some: typeof alarms) =>
      texts(pageFrame('title', lines.slice(0, 1), some, CONTROLS, W80, PANEL));
    expect(shown(alarms)[0]).toBe('title');
    expect(shown(alarms).at(-2)).toBe('ACT NOW slot A:1 cold: warm the cabin (A-1, sedge-12)');
    // Negative control: without an alarm nothing stands there.
    expect(shown([]).at(-2)).toBe('');
  });

  it('is never wider or higher than the window', () => {
    fc.assert(
      fc.property(
        fc.array(fc.string({ maxLength: 300 }), { maxLength: 80 }),
        fc.integer({ min: 1, max: 200 }),
        fc.integer({ min: 2, max: 60 }),
        fc.nat(100),
        (words, columns, rows, scroll) => {
          const given = words.flatMap((text) => wrapped(text, columns));
          const size = { columns, rows };
          const frame = pageFrame('a title', given, alarms, { ...CONTROLS, scroll }, size, []);
          expect(frame.length).toBeLessThanOrEqual(canvas(size).rows);
          for (const line of frame) expect(widthOf(line)).toBeLessThanOrEqual(columns);
        },
      ),
    );
  });
});
