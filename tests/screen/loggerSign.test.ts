import { describe, expect, it } from 'vitest';
import { type Heard, hear, loggerSign, SILENT_AFTER } from '../../src/screen/loggerSign.js';
import type { LoggerRow } from '../../src/store/store.js';
import { monotonicMs, utcMs } from '../../src/units/time.js';

const row = (beatSeconds: number): LoggerRow => ({
  pid: 1,
  beat: utcMs(beatSeconds * 1000),
  now: utcMs(beatSeconds * 1000),
  speed: 1,
  state: 'logging',
});
/** What is said at the last of a series of looks: beat, wall clock, monotonic clock, in seconds. */
const said = (...looks: readonly (readonly [number | null, number, number])[]) => {
  let heard: Heard | null = null;
  let sign = { silent: false, words: '' };
  for (const [beat, utc, monotonic] of looks) {
    const logger = beat === null ? null : row(beat);
    heard = hear(heard, logger, utcMs(utc * 1000), monotonicMs(monotonic * 1000));
    sign = loggerSign(heard, logger, monotonicMs(monotonic * 1000));
  }
  return sign;
};
const silence = SILENT_AFTER / 1000;

describe('loggerSign()', () => {
  it('says that a logger that beats is logging', () => {
    expect(said([100, 100, 0], [101, 101, 1])).toEqual({ silent: false, words: 'logging' });
  });

  it('says for how long a logger has been silent, from the limit on', () => {
    expect(said([100, 100, 0], [100, 100 + silence - 1, silence - 1]).silent).toBe(false);
    expect(said([100, 100, 0], [100, 100 + silence, silence])).toEqual({
      silent: true,
      words: `no sign of the logger for ${silence} s`,
    });
    expect(said([100, 100, 0], [100, 140, 40]).words).toBe('no sign of the logger for 40 s');
  });

  it('knows a logger that was dead before the screen began', () => {
    expect(said([100, 100 + 45 * 60, 0])).toEqual({
      silent: true,
      words: 'no sign of the logger for 45 min',
    });
    expect(said([100, 100 + 5 * 3600, 0]).words).toBe('no sign of the logger for 5 h');
  });

  it('waits a little for a logger that has not begun', () => {
    expect(said([null, 100, 0])).toEqual({ silent: false, words: 'waiting for the logger' });
    expect(said([null, 100, 0], [null, 140, 40])).toEqual({
      silent: true,
      words: 'no sign of the logger for 40 s',
    });
  });

  it('hears a logger again after silence', () => {
    expect(said([100, 100, 0], [100, 140, 40], [141, 141, 41]).silent).toBe(false);
  });

  it('is not deceived by a step of the wall clock', () => {
    expect(said([100, 100, 0], [101, 5000, 1]).silent).toBe(false);
    // Set back an hour: the dead logger's last beat lies in the future.
    expect(said([5000, 5000, 0], [5000, 1400, 40]).silent).toBe(true);
  });

  it.each([
    ['full', 'make room, it then goes on by itself'],
    ['read-only', 'make the disk writable, it then goes on by itself'],
  ] as const)(
    'tells a logger that lives and cannot store on a disk that is %s, and the cure',
    (why, cure) => {
      const heard = hear(null, row(100), utcMs(100_000), monotonicMs(0));
      const sign = (at: number, hindered: () => 'full' | 'read-only' | null) =>
        loggerSign(heard, row(100), monotonicMs(at * 1000), hindered);
      expect(sign(40, () => why)).toEqual({
        silent: true,
        words: `nothing could be stored for 40 s, the disk is ${why}`,
        cure,
      });
      // Nobody is asked while it beats, and without a reason it is silent.
      expect(sign(1, () => why)).toEqual({ silent: false, words: 'logging' });
      expect(sign(40, () => null).words).toBe('no sign of the logger for 40 s');
    },
  );
});
