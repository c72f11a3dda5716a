import { describe, expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { seededChance } from '../../../src/units/clock.js';
import { Bench, type BenchOptions, command, hex, manyRoms } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { WHY_NO_BUILD } from './build.js';
import { writtenRing } from './logged.js';

/** What the contract promises a host, milliseconds. */
const PROMISED_MS = 1000;
const NINE = 1_790_000_000;
const ROMS = manyRoms(16);

/** As busy as a board can be: sixteen probes, a full ring of which no page is acknowledged, a clock. */
const busyBoard = (change: Partial<BenchOptions> = {}) =>
  new Bench({
    probes: ROMS.map((rom) => ({ rom })),
    memory: new SerialMemory({ bytes: writtenRing(2047, 0) }),
    clock: new ClockChip({ utcSeconds: NINE }),
    hostListens: false,
    ...change,
  }).run(5000);

function longestGap(bench: Bench): number {
  const times = bench.of('H').map(({ atMs }) => atMs);
  // One a second would be a hundred and more.
  expect(times.length).toBeGreaterThan(100);
  return Math.max(...times.slice(1).map((time, index) => time - times[index]!));
}

type Said = readonly [string, ...string[]];
const BARE: readonly Said[] = [
  ['R', '000001', 'FFFF'],
  ['S'],
  ['I'],
  ['T'],
  ['M'],
  ['C', hex(NINE, 8)],
  ['K', '000001'],
  ['P', '0A', '0A'],
];
const limits = (slot: number): Said => [
  'L',
  hex(slot + 1, 2),
  ROMS[slot]!.replaceAll('-', ''),
  '0010',
  '0280',
];
const due = (slot: number): Said => ['D', hex(slot + 1, 2), hex(NINE + slot, 8)];

/** A host that waits for each answer. */
function politely(bench: Bench, untilMs: number, next: (count: number) => Said): Bench {
  for (let count = 0; bench.board.ms < untilMs; count += 1) {
    const [letter, ...fields] = next(count);
    const sequence = hex(count % 256, 2);
    const from = bench.lines.length;
    bench.hear(command(letter, count % 256, ...fields));
    const askedMs = bench.board.ms;
    const isAnswered = () =>
      bench.lines.slice(from).some((line) => line.kind === 'A' && line.fields[1] === sequence);
    while (!isAnswered() && bench.board.ms < askedMs + 2000) bench.run(bench.board.ms + 5);
  }
  return bench;
}

/** A host that does not wait, on a bus where bits flip. */
function stormily(bench: Bench, untilMs: number, pauseMs: number): Bench {
  const { uniform } = seededChance(1);
  const said = [...BARE, ...ROMS.map((_, slot) => limits(slot))];
  while (bench.board.ms < untilMs) {
    const [letter, ...fields] = said[Math.floor(uniform() * said.length)]!;
    bench.hear(command(letter, 1, ...fields)).run(bench.board.ms + uniform() * pauseMs);
  }
  return bench;
}

/** All settings of all slots, then everything else: what keeps the board longest. */
const settingsThenAll = (count: number): Said => {
  const step = count % 40;
  if (step < 16) return limits(step);
  return step < 32 ? due(step - 16) : BARE[step - 32]!;
};

describe('the heartbeat comes within a second', () => {
  test('when nobody says anything', () => {
    expect(longestGap(busyBoard().run(75_000))).toBeLessThan(PROMISED_MS);
  });

  test('when a host that waits for each answer sets all slots and asks for everything', () => {
    expect(longestGap(politely(busyBoard(), 90_000, settingsThenAll))).toBeLessThan(PROMISED_MS);
  });

  test('when such a host says anything in any order', () => {
    const { uniform } = seededChance(4);
    const drawn = () => Math.floor(uniform() * 16);
    const any = () => [...BARE, limits(drawn()), due(drawn())][Math.floor(uniform() * (BARE.length + 2))]!;
    expect(longestGap(politely(busyBoard(), 90_000, any))).toBeLessThan(PROMISED_MS);
  });

  test.each([3, 40])('when commands rain down up to %i ms apart, and bits flip on the bus', (pauseMs) => {
    const faults = [{ kind: 'rare-bit-flips', fromMs: 0, toMs: 1e9 }] as const;
    expect(longestGap(stormily(busyBoard({ faults }), 90_000, pauseMs))).toBeLessThan(PROMISED_MS);
  });

  test.skipIf(WHY_NO_BUILD)(
    'not on an image whose beat leaves no room for all that (negative control)',
    () => {
      const slow = busyBoard({ hex: broken('the heartbeat leaves room for what may hold up a line').hex });
      expect(longestGap(politely(slow, 120_000, settingsThenAll))).toBeGreaterThan(PROMISED_MS);
    },
  );
});
