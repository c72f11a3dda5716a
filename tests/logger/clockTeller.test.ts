import { describe, expect, it } from 'vitest';
import type { AnswerEvent, ClockEvent } from '../../src/carrier/events.js';
import { sayIn } from '../../src/cli/logging/logLines.js';
import { clockTeller } from '../../src/logger/clockTeller.js';
import { parseBoardId } from '../../src/units/ids.js';
import { boardMs, minutes, monotonicMs, utcMs } from '../../src/units/time.js';
import { inZone, localZone } from '../../src/units/zone.js';

const NOON = utcMs(Date.UTC(2026, 4, 12, 12));
const arrival = { utc: NOON, monotonic: monotonicMs(0) };
const board = parseBoardId('0A1B2C3D')!;
const here = (iso: string) => inZone(utcMs(Date.parse(iso)), localZone());
const clock = (state: ClockEvent['clock']): ClockEvent => ({
  kind: 'clock',
  arrival,
  boardMs: boardMs(0),
  board,
  bootCount: 1,
  clock: state,
  utc: null,
  sets: 0,
});
const answer = (command: AnswerEvent['command'], result: AnswerEvent['result'] = 'done'): AnswerEvent => ({
  kind: 'answer',
  arrival,
  command,
  commandSequence: 1,
  result,
  values: [],
});

/** What is said, with its level. */
function told(
  state: ClockEvent['clock'],
  differenceMs: number | null,
  ...answers: readonly AnswerEvent[]
): string[] {
  const said: string[] = [];
  const teller = clockTeller((sentence, level = 'info') => said.push(`${level}: ${sentence}`));
  teller.compared(clock(state), differenceMs);
  for (const each of answers) teller.answered(each, NOON);
  return said;
}

describe('clockTeller()', () => {
  it.each([
    [
      1900,
      `info: board 0A1B2C3D: its clock was 1.9 s ahead of this computer's, and is set: from ${here('2026-05-12T12:00:01.900Z')} to ${here('2026-05-12T12:00:00Z')}`,
    ],
    [
      -minutes(180),
      `warn: board 0A1B2C3D: its clock was 3.0 h behind this computer's, and is set: from ${here('2026-05-12T09:00:00Z')} to ${here('2026-05-12T12:00:00Z')}`,
    ],
    [
      null,
      `warn: board 0A1B2C3D: its clock had lost its time, which proves nothing of what the board logged alone; it is set to ${here('2026-05-12T12:00:00Z')}`,
    ],
  ])('says once from what to what a clock was set that was off by %s ms', (off, sentence) => {
    expect(told(off === null ? 'stopped' : 'running', off, answer('time'), answer('time'))).toEqual([
      sentence,
    ]);
  });

  it.each([
    [0, 4000, minutes(180), '4.0 s behind'],
    [-300, -60_300, minutes(180), '60.0 s ahead of'],
    // A clock chip may have run off by itself: 5 ppm of 150 days are 65 s.
    [0, 60_000, minutes(150 * 24 * 60), null],
    [5000, 9000, minutes(180), null],
    [0, 1900, minutes(180), null],
  ])('blames no clock that was right and goes on: %s ms off, then %s', (before, off, after, moved) => {
    const said: string[] = [];
    const teller = clockTeller((sentence, level = 'info') => said.push(`${level}: ${sentence}`));
    const at = utcMs(NOON - after + off);
    const since = { type: 'clock-compared', board, boot: 1, boardMs: 0, differenceMs: before, at } as const;
    teller.compared(clock('running'), off, since);
    teller.answered(answer('time'), NOON);
    expect(said).toEqual([
      moved === null
        ? expect.stringContaining('board 0A1B2C3D: its clock was ')
        : expect.stringContaining(`warn: this computer's clock is ${moved} what it was on `),
    ]);
  });

  it('says that a clock could not be set', () => {
    expect(told('running', 9000, answer('time', 'unavailable'))).toEqual([
      'warn: board 0A1B2C3D: its clock could not be set (unavailable); look with carrier check',
    ]);
  });

  it('says nothing of a clock that nobody set, and of one that is not there (negative control)', () => {
    expect(told('running', 9000, answer('identify'), answer('marks'))).toEqual([]);
    expect(told('absent', null, answer('time', 'unavailable'))).toEqual([]);
  });

  it('says it as a line of JSON where those are asked for', async () => {
    const lines: string[] = [];
    const say = await sayIn('json', { out: () => {}, err: (line) => lines.push(line) });
    const teller = clockTeller((sentence, level) => say(sentence, '/dev/ours', level));
    teller.compared(clock('running'), -minutes(180));
    teller.answered(answer('time'), NOON);
    expect(lines.map((line) => JSON.parse(line))).toMatchObject([
      { level: 'warn', source: '/dev/ours', msg: expect.stringContaining('its clock was 3.0 h behind') },
    ]);
  });
});
