import { describe, expect, it } from 'vitest';
import { throughSleep } from '../../src/units/throughSleep.js';
import { monotonicMs } from '../../src/units/time.js';

/** Both clocks, milliseconds. */
function clocks() {
  const now = { monotonic: 5_000, sinceBoot: 90_000 };
  const clock = {
    monotonic: () => monotonicMs(now.monotonic),
    sinceBoot: () => monotonicMs(now.sinceBoot),
  };
  const pass = (ms: number, asleep = 0) => {
    now.monotonic += ms;
    now.sinceBoot += ms + asleep;
  };
  return { now, clock, pass };
}

describe('throughSleep()', () => {
  it('goes with the monotonic clock', () => {
    const { clock, pass } = clocks();
    const steady = throughSleep(clock.monotonic, clock.sinceBoot);
    expect(steady()).toBe(5_000);
    pass(10_000.4);
    expect(steady()).toBe(15_000.4);
  });

  it('counts through a sleep of the machine', () => {
    const { clock, pass } = clocks();
    const steady = throughSleep(clock.monotonic, clock.sinceBoot);
    pass(10_000);
    pass(1_000, 3_600_000);
    expect(steady()).toBe(3_616_000);
    pass(1_000);
    expect(steady()).toBe(3_617_000);
  });

  it('takes the coarseness of the other clock for nothing', () => {
    const { now, clock, pass } = clocks();
    const steady = throughSleep(clock.monotonic, clock.sinceBoot);
    for (const jitter of [999, -999, 0]) {
      now.sinceBoot += jitter;
      const before = steady();
      pass(10);
      expect(steady()).toBe(before + 10);
    }
  });

  it('adds up short sleeps once they amount to something', () => {
    const { clock, pass } = clocks();
    const steady = throughSleep(clock.monotonic, clock.sinceBoot);
    for (let each = 0; each < 3; each += 1) pass(1_000, 900);
    expect(steady()).toBe(10_700);
  });
});
