import { describe, expect, test } from 'vitest';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { seededChance } from '../../../src/units/clock.js';
import { Bench, manyRoms } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { WHY_NO_BUILD } from './build.js';
import { hang } from './hang.js';
import { isWhole, keyOf, live, numberOf, PAGE_BYTES, readBack } from './logged.js';

const probes = manyRoms(3).map((rom, index) => ({ rom, celsius: 15 + index }));
const CAUSES = ['external', 'brown-out', 'power-on', 'watchdog'] as const;
type Cause = (typeof CAUSES)[number];

function reset(bench: Bench, cause: Cause): void {
  if (cause !== 'watchdog') {
    bench.board.reset(cause);
    return;
  }
  const boots = () => bench.of('B').filter(({ sequence }) => sequence === 0).length;
  const before = boots();
  hang(bench);
  while (boots() === before) bench.run(bench.board.ms + 50);
}

describe('a reset in the middle of a line', () => {
  /** Resets while boot line, clock line, heartbeat and table are on their way; what was no line. */
  const scrapsAfter = (resets: number, image?: string) => {
    const bench = new Bench({ probes, hostListens: false, ...(image && { hex: image }) });
    const chance = seededChance(3);
    bench.run(3000); // the first boot is slow: the board makes its id
    for (let count = 0; count < resets; count += 1) {
      bench.run(bench.board.ms + 15 + chance.uniform() * 60);
      bench.board.reset((['external', 'brown-out', 'power-on'] as const)[count % 3] ?? 'external');
    }
    bench.run(bench.board.ms + 3000);
    return { scraps: bench.scraps, bench };
  };
  const glued = (scraps: readonly string[]) => scraps.filter((text) => text.split('$').length > 2);

  test('never glues two lines together', () => {
    const { scraps, bench } = scrapsAfter(150);
    // A third of the resets and more did cut a line short.
    expect(scraps.filter((text) => text.includes('$')).length).toBeGreaterThan(50);
    expect(glued(scraps)).toEqual([]);
    expect(bench.lines.every(({ crcIsRight }) => crcIsRight)).toBe(true);
    // A reset while the boot record is written gives its number to the next boot: the board had said nothing yet.
    const said = bench
      .of('B')
      .filter(({ sequence }) => sequence === 0)
      .map(({ boot }) => boot);
    expect(new Set(said).size).toBe(said.length);
  });

  test('would, if a boot did not begin a line of its own (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    expect(
      glued(scrapsAfter(40, broken('a boot begins a line of its own').hex).scraps).length,
    ).toBeGreaterThan(5);
  });

  test('by the watchdog neither', () => {
    const bench = new Bench({ probes, hostListens: false });
    for (const afterMs of [3255, 31, 48]) {
      bench.run(bench.board.ms + afterMs);
      reset(bench, 'watchdog');
    }
    expect(glued(bench.scraps)).toEqual([]);
    expect(bench.of('B').flatMap(({ sequence, fields }) => (sequence === 0 ? fields[3] : []))).toEqual([
      ...'PWWW',
    ]);
  });
});

describe('the pages that only RAM holds', () => {
  /** A board without memory that has logged some scans. */
  const alone = (image?: string) => {
    const bench = new Bench({ probes, hostListens: false, ...(image && { hex: image }) }).run(110_000);
    const told = live(bench).map(keyOf);
    expect(told).toHaveLength(5);
    return { bench, told };
  };

  test.each(['external', 'brown-out', 'watchdog'] as const)('survive a reset: %s', (cause) => {
    const { bench, told } = alone();
    reset(bench, cause);
    bench.run(bench.board.ms + 5000);
    expect(bench.of('B').filter(({ sequence }) => sequence === 0)).toHaveLength(2);
    expect(readBack(bench).map(keyOf)).toEqual(told);
    // Later pages are numbered on, and the page of before the reset is kept beside them.
    bench.run(bench.board.ms + 50_000);
    const all = live(bench).map(keyOf);
    expect(all.length).toBeGreaterThan(told.length);
    expect(readBack(bench).map(keyOf)).toEqual(all);
  });

  test('do not survive a power cut', () => {
    const { bench } = alone();
    reset(bench, 'power-on');
    bench.run(bench.board.ms + 5000);
    expect(readBack(bench)).toEqual([]);
  });

  /** Flips a bit of the open page in RAM, by its place in the page. */
  function damage({ board }: Bench, bit: number): void {
    const { data } = board.cpu;
    const found = Array.from({ length: 0x800 - PAGE_BYTES }, (_, index) => 0x100 + index).filter(
      (address) => {
        const page = data.slice(address, address + PAGE_BYTES);
        return numberOf(page) === 2 && isWhole(page);
      },
    );
    expect(found).toHaveLength(1);
    const address = (found[0] ?? 0) + (bit >> 3);
    data[address] = (data[address] ?? 0) ^ (1 << (bit & 7));
  }

  test('are believed under their CRC only', () => {
    const chance = seededChance(8);
    for (let count = 0; count < 8; count += 1) {
      const { bench } = alone();
      damage(bench, Math.floor(chance.uniform() * 8 * PAGE_BYTES));
      reset(bench, 'external');
      bench.run(bench.board.ms + 5000);
      expect(readBack(bench)).toEqual([]);
    }
  });

  test('and an image without that CRC sends what was damaged (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const { bench } = alone(broken('a page is believed with its CRC only').hex);
    damage(bench, 8 * 30);
    reset(bench, 'external');
    bench.run(bench.board.ms + 5000);
    expect(bench.ask('R', '000002', '0001')).toEqual(['K', '0001']);
    bench.run(bench.board.ms + 500);
    expect(bench.of('L')).toHaveLength(4);
  });
});

test('a reset costs no scan at all, also in the middle of a memory write: RAM has it', () => {
  const memory = new SerialMemory();
  const bench = new Bench({ probes, memory, hostListens: false });
  const chance = seededChance(12);
  for (let count = 0; count < 12; count += 1) {
    bench.run(bench.board.ms + 25_000 + chance.uniform() * 40_000);
    const { writes } = memory;
    while (memory.writes === writes) bench.run(bench.board.ms + 1);
    // The scan's line is out some 20 ms after its page was written; a reset before that leaves the host without it.
    bench.run(bench.board.ms + chance.uniform() * (count % 2 === 0 ? 4 : 40));
    bench.board.reset(count % 3 === 0 ? 'brown-out' : 'external');
  }
  bench.run(bench.board.ms + 30_000);
  const told = live(bench);
  const kept = new Set(readBack(bench).map(keyOf));
  expect(told.length).toBeGreaterThan(15);
  expect(told.filter((scan) => !kept.has(keyOf(scan)))).toEqual([]);
});
