import { describe, expect, test } from 'vitest';
import { Bench, type BenchOptions } from '../../emulator/bench.js';
import { broken, type FirmwareRule } from './broken.js';
import { WHY_NO_BUILD } from './build.js';

/** A rule of the firmware, and how to see whether an image keeps it. */
export interface HeldRule {
  readonly rule: FirmwareRule;
  /** Runs the image and gives what shows whether it keeps the rule. */
  readonly seen: (image: Partial<BenchOptions>) => unknown;
  readonly kept: unknown;
}

/** Two tests a rule: the image that is used keeps it, and the one in which it is broken is found out. */
export function testRules(rules: readonly HeldRule[]): void {
  for (const { rule, seen, kept } of rules)
    describe(rule, () => {
      test('in the image that is used', () => {
        expect(seen({})).toEqual(kept);
      });

      test.skipIf(WHY_NO_BUILD)('but not in an image that breaks this rule (negative control)', () => {
        const { hex } = broken(rule);
        // It works but for that rule: an image that never boots would show nothing.
        expect(new Bench({ hex, probes: [] }).run(3000).of('B')).not.toEqual([]);
        expect(seen({ hex })).not.toEqual(kept);
      });
    });
}
