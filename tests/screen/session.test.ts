import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { CONTROLS } from '../../src/screen/controls.js';
import type { Session } from '../../src/screen/session.js';
import type { Store } from '../../src/store/store.js';
import type { UtcMs } from '../../src/units/time.js';
import { at, fillStore, label, loaded, readings, SHOWN_AT, storeInFolder, turned } from './invented.js';
import { sessionOn } from './sessionOn.js';

const SIZE = { columns: 80, rows: 24 };
let folder: ReturnType<typeof storeInFolder>;
let session: Session;
let now: UtcMs;
/** Stands between the session and the store, to break it. */
let broken: boolean;
let asked: number;
const beat = () => folder.store.setLogger({ pid: 1, beat: now, now, speed: 1, state: 'logging' });
beforeEach(() => {
  folder = storeInFolder();
  fillStore(folder.store);
  now = SHOWN_AT;
  broken = false;
  asked = 0;
  beat();
  const store: Store = {
    ...folder.store,
    facts: (after) => {
      if (broken) throw new Error('the disk is gone');
      return folder.store.facts(after);
    },
  };
  session = sessionOn(store, () => now, {
    diskFree: () => 5_500_000_000,
    results: () => {
      asked += 1;
      return ['Yard sedge-12', 'two\nlines'];
    },
  });
});
afterEach(() => folder.remove());

const shown = () =>
  session
    .lines(SIZE)
    .map((line) =>
      line
        .map(({ text }) => text)
        .join('')
        .trimEnd(),
    )
    .join('\n');

describe('screenSession()', () => {
  it('begins as it is told to', () => {
    const begun = sessionOn(folder.store, () => now, {
      controls: { ...CONTROLS, unit: 'F', muted: true, theme: 'sun' },
    });
    expect(begun.look()).toBeNull();
    expect(begun.theme).toBe('sun');
    const text = begun
      .lines(SIZE)
      .flat()
      .map((each) => each.text)
      .join('');
    expect(text).toContain('81.5°F');
    expect(text).not.toContain('°C↓');
  });

  it('sounds once for what is new', () => {
    expect(session.look()).toBe('act-now');
    expect(session.look()).toBeNull();
  });

  it('sounds otherwise for a cup that becomes due', () => {
    session.look();
    folder.store.transaction(() => {
      for (const slot of [1, 2, 3, 4, 5])
        folder.store.addReadings(readings('A', slot, 181.5, 240.5, () => 27.5));
      folder.store.append(now, turned('260512-04', 182), turned('260512-06', 182));
    });
    // 260512-01 was loaded at minute 60 and is due after 180 min (default rule set).
    const sounds = [239.9, 240, 240.1].map((minute) => {
      now = at(minute);
      beat();
      return session.look();
    });
    expect(sounds).toEqual([null, 'due', null]);
    expect(shown()).toContain('DUE     slot A:1 turn now, too long in about 14 min (260512-01, sedge-12)');
  });

  it('stays silent while muted', () => {
    session.press({ typed: 'm' }, SIZE);
    expect(session.look()).toBeNull();
    expect(shown()).toContain('ACT NOW');
    session.press({ typed: 'm' }, SIZE);
    expect(session.look()).toBe('act-now');
  });

  it('sounds again every half minute until the alarms are acknowledged', () => {
    for (const [slot, degrees] of [27.5, 27.5, 12.5, 27.5].entries())
      folder.store.transaction(() =>
        folder.store.addReadings(readings('A', slot + 1, 181.5, 183, () => degrees)),
      );
    folder.store.append(now, turned('260512-06', 181));
    const lookAfter = (seconds: number) => {
      now = at(181 + seconds / 60);
      beat();
      return session.look();
    };
    expect([0, 10, 30, 59, 60].map(lookAfter)).toEqual(['act-now', null, 'act-now', null, 'act-now']);
    session.press({ typed: '+' }, SIZE);
    expect(shown()).toMatch(/^seen {4}slot A:3 /m);
    expect([89, 90, 100].map(lookAfter)).toEqual([null, null, null]);
  });

  it('tells of carriers, mirror and disk', () => {
    session.look();
    expect(shown()).toMatch(/^A read 0 s ago {2}B read 0 s ago {2}disk 5 GB free$/m);
  });

  it('sounds and says so when the logger dies', () => {
    session.look();
    for (let second = 0; second < 9; second += 1) {
      now = at(181 + second / 60);
      session.look();
      expect(shown()).not.toContain('no sign of the logger');
    }
    now = at(181 + 40 / 60);
    expect(session.look()).toBe('act-now');
    expect(shown()).toContain('no sign of the logger for 40 s: start it again');
  });

  it('goes on with the last picture while the store cannot be read', () => {
    session.look();
    broken = true;
    session.look();
    expect(shown()).toContain('This screen is old, the store cannot be read: the disk is gone');
    expect(shown()).toMatch(/260512-01 .*27.5°C.* warm/);
    broken = false;
    session.look();
    expect(shown()).not.toContain('This screen is old');
  });

  it('shows cups as they are loaded', () => {
    session.look();
    folder.store.append(now, loaded('260512-77', 180));
    session.look();
    session.press('right', SIZE);
    session.press('right', SIZE);
    expect(shown()).toMatch(/^in 179 min .* not seated 260512-77 c01 sedge-12$/m);
  });

  it('shows whoever counts no state and no cold minutes of cups that ride: they are counted next', () => {
    const rows = () =>
      shown()
        .split('\n')
        .filter((row) => /^ ?\d+ \S 260512-/.test(row));
    session.look();
    const states = /cold|hot|warm|ruled out|\d\/10/;
    // Negative control: they are told while nobody counts.
    expect(rows().every((row) => states.test(row))).toBe(true);
    for (const key of ['4', 'enter'] as const) session.press(key === 'enter' ? key : { typed: key }, SIZE);
    expect(rows().length).toBeGreaterThan(0);
    for (const row of rows()) expect(row).not.toMatch(states);
    session.press('back', SIZE);
    expect(rows().every((row) => states.test(row))).toBe(true);
  });

  it('shows no trend of a cup that was turned until it is counted, and none at all to whoever counts', () => {
    const row = (slot: number) =>
      shown()
        .split('\n')
        .find((line) => line.startsWith(` ${slot} `))!;
    const BARS = /[▁▂▃▄▅▆▇█]/;
    session.look();
    expect(row(4)).toMatch(BARS);
    folder.store.append(now, turned('260512-04', 181));
    session.look();
    expect(row(4)).toMatch(/^ 4 · empty +$|^ 4 · empty$/);
    // Negative control: a slot in which no such cup was is shown as before.
    expect(row(6)).toMatch(/empty .*28.3°C→ [▁-█]+/);
    for (const key of [{ typed: '4' }, 'enter'] as const) session.press(key, SIZE);
    for (const slot of [1, 2, 3, 4, 5]) expect(row(slot)).not.toMatch(/°C|[↑→↓▁▂▃▄▅▆▇█]/);
    session.press('back', SIZE);
    expect(row(1)).toMatch(BARS);
    // What is read after the turn is of the slot alone.
    folder.store.transaction(() => folder.store.addReadings(readings('A', 4, 181.5, 181.5, () => 24)));
    now = at(181.6);
    beat();
    session.look();
    expect(row(4)).toContain('24.0°C');
    expect(row(4)).not.toMatch(BARS);
    const count = { type: 'cup-counted', cup: label('260512-04'), at: now, bees: null } as const;
    folder.store.append(now, { ...count, tray: 3, wash: null });
    session.look();
    expect(row(4)).not.toMatch(BARS);
    folder.store.append(now, { ...count, tray: null, wash: 2 });
    session.look();
    expect(row(4)).toMatch(BARS);
  });

  it('shows the results, asked for once', () => {
    session.look();
    expect(session.showsResults).toBe(false);
    session.showResults();
    session.showResults();
    expect(shown()).toMatch(/^stillwarm\nYard sedge-12\ntwo\nlines\n+q or Enter: done$/);
    expect(asked).toBe(1);
  });

  it('stays with the results whatever key is pressed that means nothing there', () => {
    session.showResults();
    const before = shown();
    for (const key of ['backspace', { typed: 'x' }, 'left'] as const)
      expect(session.press(key, { columns: 80, rows: 24 })).toBe(false);
    expect(shown()).toBe(before);
    // Negative control: one that means something puts them away.
    expect(session.press('enter', { columns: 80, rows: 24 })).toBe(true);
  });

  it('breaks long lines of the results between words, as wide as the window is', () => {
    session.showResults();
    const narrow = session
      .lines({ columns: 12, rows: 10 })
      .map((line) => line.map(({ text }) => text).join(''));
    expect(narrow.slice(1, 5).map((text) => text.trimEnd())).toEqual(['Yard', '  sedge-12', 'two', 'lines']);
  });
});
