import { describe, expect, it } from 'vitest';
import { lagInWords, prewarmAdvice, prewarmingOf } from '../../src/visit/prewarming.js';
import { foldSeason } from '../../src/visit/season.js';
import { assigns, measuresLag, minute, opens, otherRom, recorded, rom } from './situation.js';

const of = (...facts: Parameters<typeof recorded>) =>
  prewarmingOf(foldSeason(recorded(...facts)), minute(60));
const two = [opens, assigns(1, rom), assigns(2, otherRom)] as const;

describe('prewarmingOf()', () => {
  it('goes by the slowest probe, at the upper end of its interval', () => {
    // situation.ts: the interval reaches 10 s above; ln(15 / 0.5) = 3.401 time constants (lag.ts): plain arithmetic.
    const [carrier] = of(...two, measuresLag(200, 5), measuresLag(230, 6, otherRom));
    expect(carrier!.minutes).toBeCloseTo((240 * Math.log(30)) / 60, 6);
    expect(prewarmAdvice([carrier!])[0]).toContain('let its air be warm for 14 min before the first cup, or');
    expect(lagInWords(carrier!)).toBe(
      'carrier A: lag 200 to 230 s (within 190 to 240 s), measured for 2 of 2 probes',
    );
  });

  it('says of how many probes that is known, and that it was never measured', () => {
    expect(prewarmAdvice(of(...two, measuresLag(200, 5)))[0]).toContain('(1 of 2 probes measured)');
    const [unmeasured] = of(...two);
    expect(unmeasured!.minutes).toBeNull();
    expect(prewarmAdvice([unmeasured!, unmeasured!])).toEqual([
      expect.stringMatching(
        /^Carriers A, A: .*was never measured \(probe lag\); let the air be warm for 15 min/,
      ),
    ]);
    expect(lagInWords(unmeasured!)).toBe('carrier A: lag of its 2 probes not measured');
  });

  it('does not know a lag before it was measured (negative control)', () => {
    expect(of(...two, measuresLag(200, 61))[0]!.lags).toEqual([]);
    expect(of(opens)).toEqual([]);
  });
});
