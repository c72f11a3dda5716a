import { describe, expect, it } from 'vitest';
import {
  ANSWER_WITHIN,
  begin,
  type CommandLink,
  hear,
  IDLE,
  isIdle,
  TRIES_MAX,
  tick,
} from '../../src/carrier/commandLink.js';
import type { AnswerEvent } from '../../src/carrier/events.js';
import { monotonicMs, utcMs } from '../../src/units/time.js';

const utc = utcMs(1_000_000);
const at = monotonicMs;
const answer = (change: Partial<AnswerEvent>): AnswerEvent => ({
  kind: 'answer',
  arrival: { utc, monotonic: at(0) },
  command: 'marks',
  commandSequence: 1,
  result: 'done',
  values: ['0003'],
  ...change,
});
const begun = () => begin(IDLE, { name: 'marks' }, at(0), utc);

describe('begin()', () => {
  it('sends the command and waits', () => {
    const { link, send, outcome } = begun();
    expect(send).toMatch(/^!M,01\*[0-9A-F]{4}\r\n$/);
    expect(outcome).toBeNull();
    expect(isIdle(link)).toBe(false);
  });

  it('refuses a second command while one is pending', () => {
    expect(() => begin(begun().link, { name: 'search' }, at(1), utc)).toThrow('marks is still pending');
  });
});

describe('hear()', () => {
  it('ends the command with its result and values', () => {
    const step = hear(begun().link, answer({}), at(10), utc);
    expect(step.outcome).toEqual({ command: { name: 'marks' }, result: 'done', values: ['0003'] });
    expect(isIdle(step.link)).toBe(true);
  });

  it.each(['unknown-command', 'bad-field', 'out-of-range', 'unavailable'] as const)(
    'passes %s on',
    (result) => {
      expect(hear(begun().link, answer({ result }), at(10), utc).outcome?.result).toBe(result);
    },
  );

  it.each([
    ['another sequence', { commandSequence: 2 }],
    ['another command', { command: 'search' }],
    ['a refusal that names nothing and is not damage', { command: null, result: 'unknown-command' }],
  ] as [string, Partial<AnswerEvent>][])('ignores the answer to %s', (_name, change) => {
    const { link } = begun();
    expect(hear(link, answer(change), at(10), utc)).toEqual({ link, send: null, outcome: null });
  });

  it('ignores an answer nobody waits for', () => {
    expect(hear(IDLE, answer({}), at(10), utc)).toEqual({ link: IDLE, send: null, outcome: null });
  });

  it('says a damaged command again at once, under a new number, a bounded number of times', () => {
    let link: CommandLink = begun().link;
    const damaged = answer({ command: null, commandSequence: 0, result: 'bad-crc', values: [] });
    for (let tries = 2; tries <= TRIES_MAX; tries += 1) {
      const step = hear(link, damaged, at(tries), utc);
      expect(step.send).toMatch(new RegExp(`^!M,0${tries}\\*`));
      link = step.link;
    }
    expect(hear(link, damaged, at(9), utc)).toMatchObject({ send: null, outcome: { result: 'no-answer' } });
  });
});

describe('tick()', () => {
  it('does nothing before the answer is late, nor when nothing is pending', () => {
    const { link } = begun();
    expect(tick(link, at(ANSWER_WITHIN - 1), utc)).toEqual({ link, send: null, outcome: null });
    expect(tick(IDLE, at(1e9), utc)).toEqual({ link: IDLE, send: null, outcome: null });
  });

  it('repeats a late command a bounded number of times, then gives it up', () => {
    let { link } = begun();
    let sent = 1;
    for (let now = ANSWER_WITHIN as number; ; now += ANSWER_WITHIN) {
      const step = tick(link, at(now), utc);
      link = step.link;
      if (step.send) sent += 1;
      if (step.outcome) {
        expect(step.outcome).toMatchObject({ result: 'no-answer', values: [] });
        break;
      }
    }
    expect(sent).toBe(TRIES_MAX);
    expect(isIdle(link)).toBe(true);
  });

  it('wraps the number of a command after FF', () => {
    const step = begin({ ...IDLE, nextSequence: 0xff }, { name: 'marks' }, at(0), utc);
    expect(step.send).toContain('!M,FF*');
    expect(step.link.nextSequence).toBe(0);
  });
});
