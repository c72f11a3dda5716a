import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Theme } from '../../src/screen/controls.js';
import { type Line, span } from '../../src/screen/line.js';
import type { Session } from '../../src/screen/session.js';
import { type Picture, rowsOf, sheetOn } from '../../src/screen/sheet.js';
import { canvas, type Size } from '../../src/screen/size.js';
import { fillStore, SHOWN_AT, storeInFolder } from './invented.js';
import { sessionOn } from './sessionOn.js';
import { terminalModel } from './sheetModel.js';

const SIZE = { columns: 80, rows: 24 };
let folder: ReturnType<typeof storeInFolder>;
let session: Session;
beforeEach(() => {
  folder = storeInFolder();
  fillStore(folder.store);
  folder.store.setLogger({ pid: 1, beat: SHOWN_AT, now: SHOWN_AT, speed: 1, state: 'logging' });
  session = sessionOn(folder.store, () => SHOWN_AT, {
    results: () => ['Yard sedge-12: above the 70 % line'],
  });
  session.look();
});
afterEach(() => folder.remove());

const pictureOf = (lines: readonly Line[], size: Size, colour = false, theme: Theme = 'shade'): Picture => ({
  lines,
  size: canvas(size),
  colour,
  theme,
});
const drawn = (size: Size = SIZE, colour = false): readonly string[] =>
  rowsOf(pictureOf(session.lines(size), size, colour));
const trimmed = (rows: readonly string[]) => rows.map((row) => row.trimEnd());
// biome-ignore lint/suspicious/noControlCharactersInRegex: colours are control sequences
const uncoloured = (rows: readonly string[]) => rows.map((row) => row.replaceAll(/\u001b\[[0-9;]*m/g, ''));

describe('rowsOf()', () => {
  it('shows the slots, the due list and the alarms at 80 x 24', () => {
    // Expected by hand from the invented situation, the default rule set and U = 0.858 degC: slot 3 falls below
    // 140/9 - 0.858 = 14.698 at 178 + 0.5 * (26 - 14.698) / 13.5 = 178.419 min, so 5 - 2.581 min are left at 181.
    expect(trimmed(drawn())).toEqual([
      'stillwarm                                                 10:01:00 CEST  logging',
      'Carrier A      colony          last 30 min        state            left cold min',
      ' 1 ○ 260512-01 c01     27.5°C→ ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅ warm           59 min   0-2/10',
      ' 2 ▽ 260512-02 c01     16.0°C↓ ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▂ near cold      61 min   0-3/10',
      ' 3 ▼ 260512-03 c01     12.5°C↓ ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▁▁ cold           63 min   2-5/10',
      ' 4 ○ 260512-04 c01     27.5°C→ ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅ warm          due now   0-1/10',
      ' 5 ? 260512-05 c01             ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅·· no reading     67 min   0-6/10',
      ' 6 · empty             28.3°C→ ▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆',
      'Carrier B      colony          last 30 min        state            left cold min',
      ' 1 · empty             27.5°C→ ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅',
      ' 2 · empty             -0.4°C→ ▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁',
      'Due next. Turn and count every cup, ruled out or not. 4 more in the list.',
      'due now      10:01, turn 09:56 to 10:16  A:4 260512-04 c01 sedge-12',
      'in 59 min    11:00, turn 10:55 to 11:15  A:1 260512-01 c01 sedge-12',
      'ACT NOW slot A:3 cold, lost in about 2 min: warm the cabin or move it inwards',
      'ACT NOW slot A:5 no reading for about 4 min: check its probe and cable',
      'DUE     slot A:4 turn now, too long in about 15 min (260512-04, sedge-12)',
      'Not seated: 260512-06',
      'A read 0 s ago  B read 0 s ago',
      '1 load 2 seat 3 turn 4 tray 5 wash 6 bees 7 move 8 lift 9 replace 10 spoil',
      '11 note 12 correct 13 undo 14 overrule 15 open 16 close 17 results',
      '> _  number or cup label                 for the passenger - never while driving',
      '- page 1/2  + seen  * back  . help  21 quit  19 mute  / °F  18 who  20 sun',
    ]);
  });

  it('shows degrees Fahrenheit on request', () => {
    session.press({ typed: 'f' }, SIZE);
    expect(drawn()[4]).toMatch(/^ 3 ▼ 260512-03 .* 54.5°F↓ .* cold /);
  });

  it('sends colours, as an addition to the same words', () => {
    const coloured = drawn(SIZE, true);
    expect(coloured.join()).toContain('\u001b[31m');
    expect(uncoloured(coloured)).toEqual(drawn());
  });

  it('is black on white in the sun, with the same words, and has no theme without colour', () => {
    const lines = session.lines(SIZE);
    const shown = (colour: boolean) => rowsOf(pictureOf(lines, SIZE, colour, 'sun'));
    expect(shown(true).join()).toContain('\u001b[107m');
    expect(shown(true).join()).not.toContain('\u001b[31m');
    expect(trimmed(uncoloured(shown(true)))).toEqual(trimmed(shown(false)));
    expect(shown(false).join()).not.toContain('\u001b');
  });

  it('asks for a larger window in one sentence, and keeps to the small one', () => {
    for (const size of [
      { columns: 59, rows: 24 },
      { columns: 80, rows: 17 },
      { columns: 20, rows: 4 },
      { columns: 1, rows: 1 },
    ]) {
      const rows = drawn(size);
      expect(rows.length).toBeLessThanOrEqual(Math.max(1, size.rows - 1));
      for (const row of rows) expect(row.length).toBeLessThanOrEqual(size.columns);
    }
    expect(
      trimmed(drawn({ columns: 59, rows: 24 }))
        .join(' ')
        .trim(),
    ).toBe('Please make this window larger: 60 columns by 18 rows are needed, it has 59 by 24.');
  });

  it('shows the results', () => {
    session.showResults();
    const told = ['stillwarm', 'Yard sedge-12: above the 70 % line', 'q or Enter: done'];
    expect(trimmed(drawn()).filter((row) => row !== '')).toEqual(told);
  });

  it('cuts letters of double width to the window, and rows that are too many', () => {
    const rows = rowsOf(
      pictureOf(
        Array.from({ length: 99 }, () => [span('蜜'.repeat(79))]),
        SIZE,
      ),
    );
    expect(rows).toHaveLength(23);
    expect(rows[0]!.match(/蜜/g)!.length).toBeLessThanOrEqual(40);
  });
});

describe('sheetOn()', () => {
  const texts = (rows: readonly string[], size: Size) =>
    pictureOf(
      rows.map((row) => [span(row)]),
      size,
    );

  it('leaves on a terminal what was drawn last, whatever stood there before', async () => {
    const row = fc.stringMatching(/^[ a-z▼°]{0,20}$/);
    await fc.assert(
      fc.asyncProperty(fc.array(fc.array(row, { maxLength: 5 }), { minLength: 1 }), async (pictures) => {
        const size = { columns: 20, rows: 6 };
        const terminal = terminalModel(size);
        const sheet = sheetOn(terminal.stdout);
        for (const rows of pictures) sheet.show(texts(rows, size));
        expect((await terminal.rows()).join('\n').trimEnd()).toBe(
          trimmed(pictures.at(-1)!).join('\n').trimEnd(),
        );
      }),
      { numRuns: 50 },
    );
  });

  it.each([SIZE, { columns: 60, rows: 20 }])('draws the whole screen at $columns x $rows', async (size) => {
    const terminal = terminalModel(size);
    sheetOn(terminal.stdout).show(pictureOf(session.lines(size), size, true, 'sun'));
    expect((await terminal.rows()).join('\n').trimEnd()).toBe(trimmed(drawn(size)).join('\n').trimEnd());
  });

  it('wipes what others wrote, wherever it stands, when it draws the whole again', async () => {
    const terminal = terminalModel(SIZE);
    const sheet = sheetOn(terminal.stdout);
    const lines = session.lines(SIZE);
    // The screen that programs take for themselves has nothing above it to scroll back to.
    terminal.stdout.write('\u001b[?1049h');
    const show = () => sheet.show(pictureOf(lines, SIZE));
    show();
    // As a system tells all terminals: at the last row, so that everything moves up.
    terminal.stdout.write('\u001b[24;1H\r\nBroadcast message\r\nusb 1-1: disconnect\r\n\u001b[3;40Hmore');
    show();
    expect((await terminal.rows()).join()).toContain('Broadcast message');
    sheet.forget();
    show();
    expect((await terminal.rows()).join('\n').trimEnd()).toBe(trimmed(drawn()).join('\n').trimEnd());
  });

  it('writes only the rows that changed, and all of them when nobody knows what stands there', () => {
    const terminal = terminalModel(SIZE);
    const sheet = sheetOn(terminal.stdout);
    sheet.show(texts(['one', 'two', 'three'], SIZE));
    terminal.written();
    sheet.show(texts(['one', 'due', 'three'], SIZE));
    expect(terminal.written()).toBe('\u001b[2;1H\u001b[Kdue');
    sheet.show(texts(['one', 'due', 'three'], SIZE));
    expect(terminal.written()).toBe('');
    sheet.forget();
    sheet.show(texts(['one', 'due'], SIZE));
    expect(terminal.written()).toBe('\u001b[1;1H\u001b[Kone\u001b[2;1H\u001b[Kdue\u001b[3;1H\u001b[J');
  });

  it('draws every picture as it was made, whatever the window', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 60, max: 200 }),
        fc.integer({ min: 18, max: 60 }),
        async (columns, rows) => {
          const made = session.lines({ columns, rows }).map((line) => line.map(({ text }) => text).join(''));
          const terminal = terminalModel({ columns, rows });
          sheetOn(terminal.stdout).show(pictureOf(session.lines({ columns, rows }), { columns, rows }));
          expect((await terminal.rows()).join('\n').trimEnd()).toBe(trimmed(made).join('\n').trimEnd());
        },
      ),
      { numRuns: 20 },
    );
  });
});
