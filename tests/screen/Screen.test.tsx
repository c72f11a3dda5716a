import fc from 'fast-check';
import { cleanup, render } from 'ink-testing-library';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';

// The colour library looks at this when it is imported; a test's output is no terminal.
vi.hoisted(() => {
  process.env['FORCE_COLOR'] = '1';
});

import type { Press } from '../../src/screen/entry/desk.js';
import { span } from '../../src/screen/line.js';
import { Screen } from '../../src/screen/Screen.js';
import { type Session, screenSession } from '../../src/screen/session.js';
import { canvas } from '../../src/screen/size.js';
import { monotonicMs } from '../../src/units/time.js';
import { fillStore, SHOWN_AT, storeInFolder } from './invented.js';
import { NO_ENTRY } from './noEntry.js';

const SIZE = { columns: 80, rows: 24 };
let folder: ReturnType<typeof storeInFolder>;
let session: Session;
beforeEach(() => {
  folder = storeInFolder();
  fillStore(folder.store);
  folder.store.setLogger({ pid: 1, beat: SHOWN_AT, now: SHOWN_AT, speed: 1, state: 'logging' });
  session = screenSession({
    store: folder.store,
    now: () => SHOWN_AT,
    clock: { utc: () => SHOWN_AT, monotonic: () => monotonicMs(0) },
    title: 'stillwarm',
    zone: 'UTC',
    entry: NO_ENTRY,
    results: () => ['Yard sedge-12: above the 70 % line'],
  });
  session.look();
});
afterEach(() => {
  cleanup();
  folder.remove();
});

const drawn = (size = SIZE, colour = false, keys = false, onKey: (key: Press) => void = () => {}) =>
  render(
    <Screen lines={session.lines(size)} size={canvas(size)} colour={colour} keys={keys} onKey={onKey} />,
  );
const linesOf = (frame: string | undefined) => (frame ?? '').split('\n').map((line) => line.trimEnd());

describe('<Screen>', () => {
  it('shows the slots, the due list and the alarms at 80 x 24', () => {
    // Expected by hand from the invented situation, the default rule set and U = 0.858 degC: slot 3 falls below
    // 140/9 - 0.858 = 14.698 at 178 + 0.5 * (26 - 14.698) / 13.5 = 178.419 min, so 5 - 2.581 min are left at 181.
    expect(linesOf(drawn().lastFrame())).toEqual([
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
      'arrows: page 1/2  + seen  * back  ? help  q quit  / °F  m mute  t sun',
    ]);
  });

  it('shows degrees Fahrenheit on request', () => {
    session.press({ typed: 'f' }, SIZE);
    expect(linesOf(drawn().lastFrame())[4]).toMatch(/^ 3 ▼ 260512-03 .* 54.5°F↓ .* cold /);
  });

  it('sends colours, as an addition to the same words', () => {
    const coloured = drawn(SIZE, true).lastFrame() ?? '';
    expect(coloured).toContain('\u001b[31m');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: colours are control sequences
    const words = coloured.replaceAll(/\u001b\[[0-9;]*m/g, '');
    expect(linesOf(words)).toEqual(linesOf(drawn(SIZE, false).lastFrame()));
  });

  it('is black on white in the sun, with the same words, and has no theme without colour', () => {
    const lines = session.lines(SIZE);
    const shown = (colour: boolean) =>
      render(
        <Screen
          lines={lines}
          size={canvas(SIZE)}
          colour={colour}
          theme="sun"
          keys={false}
          onKey={() => {}}
        />,
      ).lastFrame() ?? '';
    expect(shown(true)).toContain('\u001b[107m');
    expect(shown(true)).not.toContain('\u001b[31m');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: colours are control sequences
    expect(linesOf(shown(true).replaceAll(/\u001b\[[0-9;]*m/g, ''))).toEqual(linesOf(shown(false)));
    expect(shown(false)).not.toContain('\u001b');
  });

  it('sends no control sequence at all without colour', () => {
    expect(drawn(SIZE, false).lastFrame()).not.toContain('\u001b');
  });

  it('asks for a larger window in one sentence, and keeps to the small one', () => {
    for (const size of [
      { columns: 59, rows: 24 },
      { columns: 80, rows: 17 },
      { columns: 20, rows: 4 },
      { columns: 1, rows: 1 },
    ]) {
      const lines = linesOf(drawn(size).lastFrame());
      expect(lines.length).toBeLessThanOrEqual(Math.max(1, size.rows - 1));
      for (const line of lines) expect(line.length).toBeLessThanOrEqual(size.columns);
    }
    expect(
      linesOf(drawn({ columns: 59, rows: 24 }).lastFrame())
        .join(' ')
        .trim(),
    ).toBe('Please make this window larger: 60 columns by 18 rows are needed, it has 59 by 24.');
  });

  it('takes Esc and what follows it at once for keys of their own, and Ctrl-C wherever it stands', () => {
    const pressed = (typed: string) => {
      const keys: Press[] = [];
      drawn(SIZE, false, true, (key) => keys.push(key)).stdin.write(typed);
      return keys;
    };
    expect(pressed('\u001b14\r')).toEqual(['back', { typed: '1' }, { typed: '4' }, 'enter']);
    expect(pressed('\u001b\u001b2')).toEqual(['back', 'back', { typed: '2' }]);
    expect(pressed('4\u0003')).toEqual([{ typed: '4' }, 'quit']);
  });

  it('tells every key, also when several arrive as one text', () => {
    const keys: Press[] = [];
    const { stdin } = drawn(SIZE, false, true, (key) => keys.push(key));
    // The second as a scanner sends a label: in one piece with its Enter.
    for (const typed of [
      'q',
      'C-1\r',
      '\u001b[C',
      '\u001b[D',
      '\u001b[A',
      '\u001b[B',
      '\r',
      '\u007f',
      '\u0003',
    ])
      stdin.write(typed);
    const label = ['C', '-', '1'].map((letter) => ({ typed: letter }));
    expect(keys).toEqual([
      { typed: 'q' },
      ...label,
      'enter',
      'right',
      'left',
      'up',
      'down',
      'enter',
      'backspace',
      'quit',
    ]);
  });

  it('reads no keys when there are none to read', () => {
    const keys: Press[] = [];
    drawn(SIZE, false, false, (key) => keys.push(key)).stdin.write('q');
    expect(keys).toEqual([]);
  });

  it('shows the results', () => {
    session.showResults();
    const lines = linesOf(drawn().lastFrame());
    const told = ['stillwarm', 'Yard sedge-12: above the 70 % line', 'q or Enter: done'];
    expect(lines.filter((line) => line !== '')).toEqual(told);
  });

  it('draws every picture as it was made, whatever the window', () => {
    fc.assert(
      fc.property(fc.integer({ min: 60, max: 200 }), fc.integer({ min: 18, max: 60 }), (columns, rows) => {
        const made = session.lines({ columns, rows }).map((line) => line.map(({ text }) => text).join(''));
        const lines = linesOf(drawn({ columns, rows }).lastFrame());
        expect(lines.join('\n').trimEnd()).toBe(
          made
            .map((text) => text.trimEnd())
            .join('\n')
            .trimEnd(),
        );
        expect(lines.length).toBeLessThanOrEqual(rows - 1);
        expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(columns);
      }),
      { numRuns: 20 },
    );
  });

  it('cuts letters of double width to the window', () => {
    const lines = [[span('蜜'.repeat(79))]];
    const frame = render(
      <Screen lines={lines} size={canvas(SIZE)} colour={false} keys={false} onKey={() => {}} />,
    ).lastFrame();
    expect(frame?.match(/蜜/g)?.length).toBeLessThanOrEqual(40);
  });
});
