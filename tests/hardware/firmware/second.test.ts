import { describe, expect, test } from 'vitest';
import { readPage, type ScansPage } from '../../../src/carrier/wire/logPage.js';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, manyRoms } from '../../emulator/bench.js';

const PAGE_BYTES = 128;
const UTC = 1_790_000_000;

/** The scans pages of a board that was alone for 20 minutes, each with the clock chip's second at its first scan. */
function alone(crystalPpm: number, clock: ClockChip | null) {
  const memory = new SerialMemory();
  new Bench({
    probes: manyRoms(12).map((rom) => ({ rom })),
    memory,
    crystalPpm,
    hostListens: false,
    ...(clock && { clock }),
  }).run(1_200_000);
  const pages = new Map<number, ScansPage>();
  for (let at = 0; at < 16 * PAGE_BYTES; at += PAGE_BYTES) {
    const page = readPage(memory.bytes.subarray(at, at + PAGE_BYTES));
    if (page?.kind === 'scans') pages.set(page.page, page);
  }
  return [...pages.values()];
}
/** Seconds that the page's mark is off from the chip, -7 to 7. */
function off({ second, scans }: ScansPage, clock: ClockChip, crystalPpm: number): number {
  const at = clock.utcAt((scans[0]!.boardMs * 1000) / (1 + crystalPpm / 1_000_000));
  return ((((second! - at) % 15) + 15 + 7.5) % 15) - 7.5;
}

describe('the second on a page of scans', () => {
  // A ceramic resonator is off by up to 0.5 % (common practice, no source): 6 s in 20 min.
  test.each([0, 5000, -5000])('follows the clock chip while the counter is %d ppm off', (crystalPpm) => {
    const clock = new ClockChip({ utcSeconds: UTC });
    const pages = alone(crystalPpm, clock);
    expect(pages.length).toBeGreaterThan(8);
    for (const page of pages) {
      // The whole second that had begun, known to 0.2 s and what the counter runs off in a minute.
      expect(off(page, clock, crystalPpm)).toBeGreaterThan(-1.5);
      expect(off(page, clock, crystalPpm)).toBeLessThan(0.5);
    }
  });

  test('would not fit a counter that is taken to be right (negative control)', () => {
    const clock = new ClockChip({ utcSeconds: UTC });
    const last = alone(5000, clock).at(-1)!;
    expect(Math.abs(off(last, clock, 0))).toBeGreaterThan(4);
  });

  test('is absent without a clock that runs', () => {
    for (const clock of [null, new ClockChip({ utcSeconds: UTC, hadStopped: true })]) {
      const pages = alone(0, clock);
      expect(pages.length).toBeGreaterThan(8);
      expect(pages.map(({ second }) => second)).toEqual(pages.map(() => null));
    }
  });
});
