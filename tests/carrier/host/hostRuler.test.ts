import { describe, expect, it } from 'vitest';
import { hostRuler } from '../../../src/carrier/host/hostRuler.js';
import { monotonicMs } from '../../../src/units/time.js';

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

describe('hostRuler()', () => {
  it('counts from 0 with the monotonic clock', () => {
    const { clock, pass } = clocks();
    const ruler = hostRuler(clock);
    expect(ruler()).toBe(0);
    pass(10_000.4);
    expect(ruler()).toBe(10_000);
  });

  it('counts through a sleep of the machine', () => {
    const { clock, pass } = clocks();
    const ruler = hostRuler(clock);
    pass(10_000);
    pass(1_000, 3_600_000);
    expect(ruler()).toBe(3_611_000);
    pass(1_000);
    expect(ruler()).toBe(3_612_000);
  });

  it('takes the coarseness of the other clock for nothing', () => {
    const { now, clock, pass } = clocks();
    const ruler = hostRuler(clock);
    for (const jitter of [999, -999, 0]) {
      now.sinceBoot += jitter;
      const before = ruler();
      pass(10);
      expect(ruler()).toBe(before + 10);
    }
  });

  it('adds up short sleeps once they amount to something', () => {
    const { clock, pass } = clocks();
    const ruler = hostRuler(clock);
    for (let each = 0; each < 3; each += 1) pass(1_000, 900);
    expect(ruler()).toBe(5_700);
  });
});
