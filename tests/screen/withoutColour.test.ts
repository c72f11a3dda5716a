import { describe, expect, it } from 'vitest';
import type { LiveState } from '../../src/exposure/live.js';
import { inAscii } from '../../src/screen/ascii.js';
import { CONTROLS } from '../../src/screen/controls.js';
import { CLEAR_DESK, type Desk } from '../../src/screen/entry/desk.js';
import { panelLines } from '../../src/screen/entry/panel.js';
import type { Line } from '../../src/screen/line.js';
import type { Situation } from '../../src/screen/situation.js';
import type { Size } from '../../src/screen/size.js';
import { NO_STATUS, type Status } from '../../src/screen/status.js';
import { durationMs } from '../../src/units/time.js';
import { cupView, KNOWN_EMPTY, situation, slotView, usualFrame } from './views.js';

const SIZES: readonly Size[] = [
  { columns: 80, rows: 24 },
  { columns: 60, rows: 20 },
];
const WORDS = ['warm', 'near cold', 'cold', 'near hot', 'hot', 'no reading'] as const;

const riding = (state: Partial<LiveState>, spoiled = false, rom?: null): Partial<Situation> => ({
  slots: [slotView({ slot: 4, cup: cupView({ state, spoiled }), ...(rom === null ? { rom } : {}) })],
});
const act: Partial<LiveState> = { alarm: { level: 'act-now', kind: 'cold', text: 'warm the cabin' } };
const due: Partial<LiveState> = { alarm: { level: 'due', kind: 'turn', text: 'warm the cabin' } };
const status = (given: Partial<Status>): Partial<Situation> => ({ status: { ...NO_STATUS, ...given } });
const clock = (state: 'running' | 'stopped', differenceMs: number | null) =>
  status({ clocks: [{ name: 'A', state, differenceMs }] });
const read = (age: number | null) =>
  status({ carriers: [{ name: 'A', age: age === null ? null : durationMs(age) }] });

/** Whatever a colour is given to, well and ill. */
const SITUATIONS: readonly Partial<Situation>[] = [
  {},
  ...WORDS.map((word) => riding({ word })),
  riding({ ruledAlready: 'cold' }),
  riding({}, true),
  riding({}, false, null),
  riding({ minutesToDue: 0 }),
  riding({ minutesToDue: -5, minutesToLong: 10 }),
  riding(act),
  riding(due),
  { unseated: [cupView({ state: { word: 'not seated', latest: null } })] },
  { logger: { silent: true, words: 'no sign of the logger for 12 s' } },
  { problem: 'This screen is old: the store is busy' },
  read(3000),
  read(90_000),
  read(null),
  clock('running', 0),
  clock('running', 9000),
  clock('stopped', null),
  status({ mirror: { state: 'sending', behind: 0 } }),
  status({ mirror: { state: 'sending', behind: 5000 } }),
  status({ mirror: { state: 'stopped', behind: 0 } }),
  status({ diskFree: 5e9 }),
  status({ diskFree: 5e8 }),
  status({ diskFree: 5e7 }),
];

const framesOf = (given: Partial<Situation>): Line[][] =>
  SIZES.flatMap((size) => {
    const shown = situation(given);
    const acknowledged = new Set(shown.alarms.map(({ id }) => id));
    return [
      usualFrame(shown, CONTROLS, size),
      usualFrame(shown, { ...CONTROLS, acknowledged, muted: true }, size),
    ];
  });

const SAID: readonly Desk[] = [
  { ...CLEAR_DESK, said: { text: 'Recorded: Turn C-101', isProblem: false } },
  { ...CLEAR_DESK, said: { text: 'C-101 is no label.', isProblem: true } },
];
const panels = SAID.map((desk) =>
  panelLines(desk, KNOWN_EMPTY, { unit: 'C', muted: false, page: 1, pages: 1 }, 80),
);
const LINES: readonly Line[] = [...SITUATIONS.flatMap(framesOf), ...panels].flatMap((frame) => whole(frame));

/** Whole sentences: what is longer than a line goes on indented in the next. */
function whole(lines: readonly Line[]): Line[] {
  const found: Line[] = [];
  for (const line of lines) {
    const isRest = /^ {8}\S/.test(line.map(({ text }) => text).join(''));
    if (isRest) found.push([...(found.pop() ?? []), ...line]);
    else found.push(line);
  }
  return found;
}

/** Lines that look different in colour and say the same without it. */
function byColourAlone(lines: readonly Line[]): string[] {
  const known = new Map<string, string>();
  return lines.flatMap((line) => {
    const words = line.map(({ text }) => text).join('');
    // What is blank has no colour.
    const look = line
      .flatMap(({ text, tone }) => (text.trim() === '' ? [] : [`${text.trim()} ${tone}`]))
      .join();
    const before = known.get(words);
    known.set(words, look);
    return before === undefined || before === look ? [] : [words];
  });
}

describe('the screen without colour', () => {
  it('says in words and shapes whatever a colour says', () => {
    expect(new Set(LINES.flat().map(({ tone }) => tone))).toEqual(
      new Set(['plain', 'title', 'quiet', 'good', 'watch', 'alarm']),
    );
    expect(byColourAlone(LINES)).toEqual([]);
    expect(byColourAlone(inAscii(LINES))).toEqual([]);
  });

  it.each([
    [
      'the words of a state and its shape',
      /[○▽▼△▲?!×/]|near cold|near hot|no reading|no probe|ruled out|spoiled|cold|warm|hot/g,
    ],
    ['how urgent an alarm is', /ACT NOW|DUE|seen/g],
  ])('would be found out if it left out %s', (_what, left) => {
    const less = LINES.map((line) =>
      line.map(({ text, tone }) => ({ text: text.replaceAll(left, '#').trim(), tone })),
    );
    expect(byColourAlone(less).length).toBeGreaterThan(0);
  });

  it.each(SIZES)('has the word and the shape of every state in its row at $columns x $rows', (size) => {
    const rowOf = (given: Partial<Situation>) =>
      inAscii(usualFrame(situation(given), CONTROLS, size))
        .map((line) => line.map(({ text }) => text).join(''))
        .find((line) => line.startsWith(' 4 '))!;
    const states = [
      ...WORDS.map((word) => [word, riding({ word })] as const),
      ['ruled out', riding({ ruledAlready: 'cold' })] as const,
      ['spoiled', riding({}, true)] as const,
      ['no probe', riding({}, false, null)] as const,
    ];
    const rows = states.map(([, given]) => rowOf(given));
    for (const [index, [word]] of states.entries()) expect(rows[index]).toContain(` ${word}`);
    // The shape stands behind the slot, in a terminal that knows ASCII only as well.
    expect(new Set(rows.map((row) => row[3])).size).toBe(states.length);
  });
});
