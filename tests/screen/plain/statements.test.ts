import { describe, expect, it } from 'vitest';
import { probeIn } from '../../../src/emulator/scenarios/carriers.js';
import type { AlarmKind, LiveState } from '../../../src/exposure/live.js';
import { statements } from '../../../src/screen/plain/statements.js';
import { NOTHING_TOLD, tell } from '../../../src/screen/plain/telling.js';
import type { Situation } from '../../../src/screen/situation.js';
import { LOST_AFTER, NO_STATUS, type Status } from '../../../src/screen/status.js';
import { durationMs, later, minutes } from '../../../src/units/time.js';
import type { SlotView } from '../../../src/visit/slots.js';
import { SEVEN } from '../invented.js';
import { cupView, situation, slotView } from '../views.js';

/** What is said of a change from one situation to another, five minutes later. */
function news(
  before: Partial<Situation>,
  after: Partial<Situation>,
  unit: 'C' | 'F' = 'C',
): readonly string[] {
  const { told } = tell(NOTHING_TOLD, statements(situation(before), unit), SEVEN);
  const at = later(SEVEN, minutes(5));
  return tell(told, statements(situation({ ...after, at }), unit), at).sentences;
}
const first = (given: Partial<Situation>) =>
  tell(NOTHING_TOLD, statements(situation(given), 'C'), SEVEN).sentences;

const riding = (
  state: Partial<LiveState> = {},
  slot: Partial<Omit<SlotView, 'carrier'>> = {},
): Partial<Situation> => ({
  slots: [slotView({ slot: 4, rom: probeIn('A', 4), cup: cupView({ state }), ...slot })],
});
const unseated = (state: Partial<LiveState> = {}): Partial<Situation> => ({
  unseated: [cupView({ state: { word: 'not seated', latest: null, ...state } })],
});
const status = (given: Partial<Status>): Partial<Situation> => ({ status: { ...NO_STATUS, ...given } });
const act = (kind: AlarmKind, text: string): Partial<LiveState> => ({
  alarm: { level: 'act-now', kind, text },
});
const read = (age: number) => status({ carriers: [{ name: 'A', age: durationMs(age) }] });
const SILENT = { logger: { silent: true, words: 'no sign of the logger for 12 s' } };
const turned = (tray: boolean): Partial<Situation> => ({
  unread: [{ cup: '260512-01', colony: null, yard: 'sedge-12', tray, wash: false }],
});
/** Loaded at 5:00 UTC, in a zone that is UTC: due after 175 to 195 min (src/exposure/ruleSet.ts). */
const WINDOW = 'turn it between 07:55 and 08:15';
const CUP = 'Cup 260512-01, yard sedge-12:';

// Sentences are of src/screen/plain/statements.ts; alarms, thresholds and temperatures are what the screen shows.
describe('statements()', () => {
  it.each<[string, Partial<Situation>, Partial<Situation>, readonly string[]]>([
    ['nothing', riding(), riding(), []],
    [
      'a cup that is loaded',
      {},
      unseated(),
      ['Turn and count every cup, ruled out or not.', `${CUP} in no slot; ${WINDOW}.`],
    ],
    ['a cup that is seated', unseated(), riding(), [`${CUP} in slot A:4, warm, 27.5°C; ${WINDOW}.`]],
    [
      'a cup that is moved',
      riding(),
      riding({}, { slot: 5 }),
      [`${CUP} in slot A:5, warm, 27.5°C; ${WINDOW}.`],
    ],
    ['a cup that is lifted', riding(), unseated(), [`${CUP} in no slot; ${WINDOW}.`]],
    [
      'a slot that becomes cold',
      riding(),
      riding({ word: 'cold' }),
      ['Slot A:4, cup 260512-01: cold, 27.5°C.'],
    ],
    [
      'a slot that will be cold',
      riding(),
      riding(act('cold-soon', 'cold in about 6 min: warm the cabin')),
      ['ACT NOW: slot A:4, cup 260512-01: cold in about 6 min: warm the cabin.'],
    ],
    [
      'an alarm that says the state, too',
      riding(),
      riding({ word: 'cold', ...act('cold', 'cold, lost in about 4 min: warm the cabin') }),
      ['ACT NOW: slot A:4, cup 260512-01: cold, lost in about 4 min: warm the cabin.'],
    ],
    [
      'a cup that is lost, without its ruling',
      riding(),
      riding(act('refill', 'lost to cold: replace it while still here')),
      ['ACT NOW: slot A:4, cup 260512-01: replace it while still here.'],
    ],
    [
      'other minutes of an alarm that was told',
      riding(act('cold-soon', 'cold in about 6 min: warm the cabin')),
      riding(act('cold-soon', 'cold in about 5 min: warm the cabin')),
      [],
    ],
    [
      'an alarm that is over',
      riding(act('cold-soon', 'cold in about 6 min')),
      riding(),
      ['Slot A:4, cup 260512-01: nothing to do at once any more.'],
    ],
    [
      'a probe without readings',
      riding(),
      riding({ word: 'no reading' }),
      ['Slot A:4, cup 260512-01: no reading.'],
    ],
    [
      'a cup that is due soon',
      riding({ minutesToDue: 11 }),
      riding({ minutesToDue: 9.5 }),
      [`Cup 260512-01, in slot A:4: due in 10 min; ${WINDOW}.`],
    ],
    [
      'a cup that is due',
      riding(),
      riding({
        minutesToDue: 0,
        alarm: { level: 'due', kind: 'turn', text: 'turn now, too long in about 15 min' },
      }),
      ['DUE: slot A:4, cup 260512-01: turn now, too long in about 15 min.'],
    ],
    [
      'a cup that is turned',
      riding(),
      turned(false),
      ['Cup 260512-01: turned; tray not read, wash not read.'],
    ],
    [
      'a tray that is read',
      turned(false),
      turned(true),
      ['Cup 260512-01: turned; tray read, wash not read.'],
    ],
    [
      'a cup that is done',
      turned(true),
      {},
      ['Cup 260512-01 is listed no longer: it was read or spoiled, or its visit is closed.'],
    ],
    [
      'a spoiled cup',
      riding(),
      { slots: [slotView({ slot: 4, cup: cupView({ spoiled: true }) })] },
      ['Slot A:4, cup 260512-01: spoiled.'],
    ],
    ['a connection that is lost', read(3000), read(LOST_AFTER + 1000), ['A not read for 76 s.']],
    ['a longer time without connection', read(LOST_AFTER + 1000), read(LOST_AFTER + 90_000), []],
    ['a connection that is back', read(LOST_AFTER + 1000), read(3000), ['A is read again.']],
    [
      'a clock that stopped',
      {},
      status({ clocks: [{ name: 'A', state: 'stopped', differenceMs: null }] }),
      ['Clock of A stopped.'],
    ],
    [
      'a mirror that stopped',
      {},
      status({ mirror: { state: 'stopped', behind: 12 } }),
      ['Mirror stopped, 12 readings behind.'],
    ],
    [
      'a mirror that goes on',
      status({ mirror: { state: 'stopped', behind: 12 } }),
      status({ mirror: { state: 'sending', behind: 0 } }),
      ['The mirror is no longer behind or stopped.'],
    ],
    [
      'a disk that fills up',
      status({ diskFree: 5e9 }),
      status({ diskFree: 5e7 }),
      ['Disk nearly full, 50 MB free.'],
    ],
    ['a logger that is silent', {}, SILENT, ['ACT NOW: no sign of the logger for 12 s: start it again.']],
    ['a logger that is back', SILENT, {}, ['The logger is at work.']],
    [
      'a store that cannot be read',
      {},
      { problem: 'This screen is old: the store is busy' },
      ['This screen is old: the store is busy.'],
    ],
    [
      'a store that is read again',
      { problem: 'This screen is old: the store is busy' },
      {},
      ['The store is read again.'],
    ],
  ])('tells of %s', (_what, before, after, sentences) => {
    expect(news(before, after)).toEqual(sentences);
  });

  it('tells degrees in the unit that is wanted', () => {
    // 27.5 °C is 81.5 °F: 27.5 * 9 / 5 + 32.
    expect(news(unseated(), riding(), 'F')[0]).toContain('warm, 81.5°F');
  });

  it('tells of good things only after bad ones', () => {
    expect(first({ ...read(3000), ...status({ diskFree: 5e9 }) })).toEqual([]);
  });

  it('tells no ruling, neither while a cup rides nor later, and no count', () => {
    const ruledOut = riding({
      word: 'cold',
      ruledAlready: 'cold',
      coldMinutes: { certain: 41, possible: 43 },
    });
    const all = [...news(riding(), ruledOut), ...news({}, ruledOut), ...news(ruledOut, turned(false))];
    expect(all.length).toBeGreaterThan(3);
    expect(
      all.filter((line) => line !== 'Turn and count every cup, ruled out or not.').join('\n'),
    ).not.toMatch(/ruled|valid|unproven|excluded|41|43/);
    // The screen does show it while the cup rides: the sentences leave it out, it is not missing from what they are made of.
    expect(ruledOut.slots![0]!.cup!.state.ruledAlready).toBe('cold');
  });

  it('says the same of a cup whatever was ruled of it', () => {
    const cold = (ruledAlready: 'cold' | null) => news(riding(), riding({ word: 'cold', ruledAlready }));
    expect(cold('cold')).toEqual(cold(null));
  });
});
