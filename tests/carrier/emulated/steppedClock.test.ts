import { describe, expect, it } from 'vitest';
import { SteppedClock } from '../../../src/carrier/emulated/steppedClock.js';
import { durationMs, utcMs } from '../../../src/units/time.js';

const clock = () => new SteppedClock(utcMs(1000));

describe('SteppedClock', () => {
  it('stands still until it is moved on', () => {
    const still = clock();
    expect([still.utc(), still.monotonic()]).toEqual([1000, 0]);
    still.moveTo(250.5);
    expect([still.utc(), still.monotonic(), still.steady()]).toEqual([1250, 250.5, 250.5]);
  });

  it('does what is due in order of time, each at its time', () => {
    const moved = clock();
    const done: [string, number][] = [];
    moved.every(durationMs(40), () => done.push(['every', moved.monotonic()]));
    const stop = moved.every(durationMs(30), () => done.push(['stopped', moved.monotonic()]));
    moved.moveTo(35);
    stop();
    moved.moveTo(100);
    expect(done).toEqual([
      ['stopped', 30],
      ['every', 40],
      ['every', 80],
    ]);
  });

  it('wakes who sleeps when the time has come, or when it is told to', async () => {
    const moved = clock();
    const woken: string[] = [];
    const stop = new AbortController();
    const sleeps = [
      moved.sleep(durationMs(10)).then(() => woken.push('in time')),
      moved.sleep(durationMs(1e9), stop.signal).then(() => woken.push('aborted')),
    ];
    moved.moveTo(9);
    await Promise.resolve();
    expect(woken).toEqual([]);
    moved.moveTo(10);
    stop.abort();
    await Promise.all(sleeps);
    expect(woken).toEqual(['in time', 'aborted']);
    await expect(moved.sleep(durationMs(1), stop.signal)).resolves.toBeUndefined();
  });
});
