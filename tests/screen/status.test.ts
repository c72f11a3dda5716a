import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Line, widthOf } from '../../src/screen/line.js';
import {
  ageText,
  lastRead,
  NO_STATUS,
  type Status,
  statusLine,
  troubleLine,
} from '../../src/screen/status.js';
import { durationMs, minutes, seconds } from '../../src/units/time.js';

const text = (line: Line) => line.map((span) => span.text).join('');
const toneOf = (line: Line, part: string) => line.find((span) => span.text.includes(part))?.tone;
const status = (given: Partial<Status>): Status => ({ ...NO_STATUS, ...given });
const WELL: Status = {
  carriers: [
    { name: 'A', age: seconds(3) },
    { name: 'B', age: seconds(12) },
  ],
  clocks: [{ name: 'A', state: 'running', differenceMs: 200 }],
  mirror: { state: 'sending', behind: 0 },
  diskFree: 12_400_000_000,
  behindRecord: null,
};

describe('statusLine()', () => {
  it('tells of each carrier when it was last read, and of clocks, mirror and disk', () => {
    expect(text(statusLine(WELL, 100))).toBe(
      'A read 3 s ago  B read 12 s ago  clocks right  mirror up to date  disk 12 GB free',
    );
    expect(text(troubleLine(WELL, 100))).toBe('');
  });

  it.each<[Partial<Status>, string, string]>([
    [{ carriers: [{ name: 'A', age: seconds(76) }] }, 'A not read for 76 s', 'alarm'],
    [{ carriers: [{ name: 'A', age: null }] }, 'A never read', 'watch'],
    [{ clocks: [{ name: 'B', state: 'stopped', differenceMs: 0 }] }, 'clock of B stopped', 'watch'],
    [{ clocks: [{ name: 'B', state: 'running', differenceMs: -2600 }] }, 'clock of B 3 s off', 'watch'],
    [{ mirror: { state: 'stopped', behind: 1 } }, 'mirror stopped, 1 reading behind', 'watch'],
    [{ mirror: { state: 'waiting', behind: 1001 } }, 'mirror 1001 readings behind', 'watch'],
    [{ diskFree: 999_000_000 }, 'disk low, 999 MB free', 'watch'],
    [{ diskFree: 99_900_000 }, 'disk nearly full, 99 MB free', 'alarm'],
    [{ behindRecord: minutes(180) }, "this computer's clock is 3 h behind its records", 'alarm'],
  ])('counts %j as trouble', (given, words, tone) => {
    const line = statusLine(status(given), 80);
    expect(text(line)).toBe(words);
    expect(toneOf(line, words)).toBe(tone);
    expect(text(troubleLine(status(given), 80))).toBe(words);
  });

  it.each<[Partial<Status>, string]>([
    [{ carriers: [{ name: 'A', age: seconds(75) }] }, 'A read 75 s ago'],
    [{ clocks: [{ name: 'B', state: 'absent', differenceMs: null }] }, 'no clock on board'],
    [{ clocks: [{ name: 'B', state: 'running', differenceMs: 2000 }] }, 'clocks right'],
    [{ mirror: { state: 'waiting', behind: 1000 } }, 'mirror 1000 readings behind'],
    [{ diskFree: 1_000_000_000 }, 'disk 1 GB free'],
    [{}, ''],
  ])('does not count %j as trouble', (given, words) => {
    expect(text(statusLine(status(given), 80))).toBe(words);
    expect(troubleLine(status(given), 80)).toEqual([]);
  });

  it('tells trouble first, and counts what does not fit', () => {
    const bad = { ...WELL, diskFree: 1_000_000 };
    expect(text(statusLine(bad, 60))).toBe('disk nearly full, 1 MB free  A read 3 s ago  +3');
  });

  it('keeps to its width', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            name: fc.string({ maxLength: 40 }),
            age: fc.option(fc.nat(10_000_000).map(durationMs)),
          }),
          { maxLength: 6 },
        ),
        fc.option(fc.nat(1e9)),
        fc.integer({ min: 1, max: 140 }),
        (carriers, behind, width) => {
          const mirror = behind === null ? null : { state: 'waiting' as const, behind };
          expect(widthOf(statusLine(status({ carriers, mirror, diskFree: 1e6 }), width))).toBeLessThanOrEqual(
            width,
          );
        },
      ),
    );
  });
});

describe('lastRead()', () => {
  it('is the age of the latest reading of all', () => {
    expect(lastRead(WELL)).toBe(seconds(3));
    expect(lastRead(NO_STATUS)).toBeNull();
  });
});

describe('ageText()', () => {
  it.each([
    [0, '0 s'],
    [119.9, '119 s'],
    [120, '2 min'],
    [7199, '119 min'],
    [7200, '2 h'],
    [172_799, '47 h'],
    [172_800, '2 days'],
  ])('writes %d s as %s', (age, expected) => expect(ageText(seconds(age))).toBe(expected));
});
