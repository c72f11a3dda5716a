import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dueLines, dueRows } from '../../src/screen/due.js';
import { widthOf } from '../../src/screen/line.js';
import { durationMs, later } from '../../src/units/time.js';
import type { CupView } from '../../src/visit/slots.js';
import { at, SEVEN } from './invented.js';
import { cupView, slotView, texts } from './views.js';

const loadedAt = (cup: string, minute: number, within = 0): CupView => {
  const view = cupView({ cup, state: { minutesToDue: minute + 180 - 121 } });
  return { ...view, cup: { ...view.cup, load: at(minute), loadWithin: durationMs(within) } };
};

describe('dueRows()', () => {
  it('lists every cup that rides, ruled out or not, in the order in which they are due', () => {
    const ruledOut = cupView({ cup: 'out', state: { ruledAlready: 'cold', word: 'cold' } });
    const rows = dueRows(
      [
        slotView({ slot: 2, cup: loadedAt('second', 2) }),
        slotView({ slot: 1, cup: ruledOut }),
        slotView({ slot: 3 }),
      ],
      [loadedAt('loose', 1)],
    );
    expect(rows.map(({ cup, place }) => [cup, place])).toEqual([
      ['out', 'A:1'],
      ['loose', ''],
      ['second', 'A:2'],
    ]);
  });

  it('tells a ruled-out cup in the very words of any other', () => {
    const line = (ruledAlready: 'cold' | null) =>
      texts(dueLines(dueRows([slotView({ cup: cupView({ state: { ruledAlready } }) })], []), 'UTC', 80, 9));
    expect(line('cold')).toEqual(line(null));
  });

  it('leaves out only what a person has marked as spoiled', () => {
    expect(dueRows([slotView({ cup: cupView({ spoiled: true }) })], [])).toEqual([]);
  });

  it('gives whole minutes in which the length is right, narrower by the precision of the load', () => {
    // Default rule set: due after 180 min, at least 175, at most 195.
    const row = (seconds: number, within: number) => {
      const view = loadedAt('c', 0, within);
      const late = { ...view, cup: { ...view.cup, load: later(SEVEN, durationMs(seconds * 1000)) } };
      return dueRows([slotView({ cup: late })], [])[0]!;
    };
    expect(row(0, 0)).toMatchObject({ from: at(175), due: at(180), to: at(195) });
    expect(row(20, 0)).toMatchObject({ from: at(176), due: at(181), to: at(195) });
    expect(row(0, 2 * 60_000)).toMatchObject({ from: at(177), to: at(193) });
  });
});

describe('dueLines()', () => {
  const rows = dueRows(
    [1, 2, 3].map((slot) => slotView({ slot, cup: loadedAt(`c${slot}`, slot) })),
    [],
  );

  it('says that every cup is turned and counted, and each with its window', () => {
    expect(texts(dueLines(rows, 'Europe/Berlin', 80, 3))).toEqual([
      'Due next. Turn and count every cup, ruled out or not. 1 more in the list.',
      'in 60 min    10:01, turn 09:56 to 10:16  A:1 c1 sedge-12',
      'in 61 min    10:02, turn 09:57 to 10:17  A:2 c2 sedge-12',
    ]);
    expect(texts(dueLines(rows, 'Europe/Berlin', 60, 2))).toEqual([
      'Due next. Turn and count every cup, ruled out or not.',
      'in 60 min    10:01 (09:56-10:16)  A:1 c1 sedge-12',
    ]);
  });

  it('says it all in one line when there is no other', () => {
    expect(texts(dueLines(rows, 'Europe/Berlin', 60, 1))).toEqual([
      'Turn all, ruled out or not: A:1 10:01 (09:56-10:16) +2',
    ]);
    expect(texts(dueLines(rows, 'Europe/Berlin', 80, 1))).toEqual([
      'Turn all, ruled out or not: A:1 10:01 (09:56-10:16), A:2 10:02, A:3 10:03',
    ]);
  });

  it('keeps to its width and its room', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            cup: fc.stringMatching(/^[a-z0-9]{1,32}$/),
            minute: fc.integer({ min: -5000, max: 5000 }),
          }),
          {
            maxLength: 9,
          },
        ),
        fc.integer({ min: 60, max: 140 }),
        fc.nat(12),
        (given, width, room) => {
          const lines = dueLines(
            dueRows(
              [],
              given.map(({ cup, minute }) => loadedAt(cup, minute)),
            ),
            'UTC',
            width,
            room,
          );
          expect(lines.length).toBeLessThanOrEqual(room);
          for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(width);
          if (given.length > 0 && room > 0) expect(texts(lines)[0]).toMatch(/ruled out or not/);
        },
      ),
    );
  });
});
